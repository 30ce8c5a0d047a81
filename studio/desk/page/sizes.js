// Sizes as people write them, to and from exact fractions.

export const UNITS = ["in", "ft", "yd", "mm", "cm", "m", "g", "kg", "oz", "lb", "ml", "l", "fl oz", "tsp", "gsm", "s", "min", "h", "degF", "degC", "%", "sheets", "pieces"];
const SIGNS = { "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3" };

const common = (a, b) => (b ? common(b, a % b) : a);

/** Read "4 1/4", "4¼", "2.5" as an exact fraction "17/4"; null where it is none. */
export function exact(text) {
  const plain = text.trim().replace(/[½¼¾⅛⅜⅝⅞⅓⅔]/g, (sign) => ` ${SIGNS[sign]}`).replace(",", ".").trim();
  const found = plain.match(/^(?:(\d{1,7})\s+)?(\d{1,7})\/(\d{1,5})$/) ?? plain.match(/^(\d{1,7})(?:\.(\d{1,6}))?$/);
  if (!found) return null;
  let [top, under] = [0, 1];
  if (plain.includes("/")) {
    if (Number(found[3]) === 0) return null;
    [top, under] = [Number(found[1] ?? 0) * Number(found[3]) + Number(found[2]), Number(found[3])];
  } else if (found[2]) {
    under = 10 ** found[2].length;
    top = Number(found[1]) * under + Number(found[2]);
  } else {
    top = Number(found[1]);
  }
  const by = common(top, under) || 1;
  return under / by === 1 ? String(top / by) : `${top / by}/${under / by}`;
}

/** Read "4 1/4 x 5 1/2" as exact fractions; null where one of them is none. */
export function exacts(text) {
  const found = text.split(/\s*(?:[x×]|\bby\b|\bto\b)\s*/i).filter(Boolean).map(exact);
  return found.length && found.every(Boolean) ? found : null;
}

/** Write an exact fraction as people do: 17/4 is 4 1/4. */
export function mixed(text) {
  const [top, under] = String(text).split("/").map(Number);
  if (!under || under === 1) return String(top);
  const whole = Math.floor(top / under);
  return `${whole ? `${whole} ` : ""}${top % under}/${under}`;
}

/** The number of an exact fraction. */
export function number(text) {
  const [top, under] = String(text).split("/").map(Number);
  return top / (under || 1);
}

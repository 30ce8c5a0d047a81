// Small helpers to build the page: elements, times, announcements, focus that is kept.

/** Make an element: `h("p.note", {title: "x"}, "text", child)`. Listeners are given as `onclick` and so on. */
export function h(name, given = {}, ...children) {
  if (given instanceof Node || typeof given !== "object" || given === null || Array.isArray(given)) {
    children.unshift(given);
    given = {};
  }
  const [tag, ...classes] = name.split(".");
  const made = document.createElement(tag || "div");
  if (classes.length) made.className = classes.join(" ");
  for (const [key, value] of Object.entries(given)) {
    if (value === undefined || value === null || value === false) continue;
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else if (key === "value" || key === "checked" || key === "disabled" || key === "hidden" || key === "selected" || key === "open") made[key] = value;
    else made.setAttribute(key, value === true ? "" : value);
  }
  made.append(...children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false));
  return made;
}

/** Make an SVG element. */
export function svg(tag, given = {}, ...children) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [key, value] of Object.entries(given)) made.setAttribute(key, value);
  made.append(...children.flat());
  return made;
}

/** Write milliseconds as people do: 6:20. */
export function clock(ms) {
  const seconds = Math.floor(ms / 1000);
  const two = (n) => String(n).padStart(2, "0");
  const [hours, minutes] = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60];
  return hours ? `${hours}:${two(minutes)}:${two(seconds % 60)}` : `${minutes}:${two(seconds % 60)}`;
}

/** Write a size of a file. */
export function bytes(size) {
  const steps = [[1 << 30, "GB"], [1 << 20, "MB"], [1 << 10, "kB"]];
  const [unit, name] = steps.find(([least]) => size >= least) ?? [1, "bytes"];
  return `${size >= unit * 10 || unit === 1 ? Math.round(size / unit) : (size / unit).toFixed(1)} ${name}`;
}

/** Count with a word: 1 question, 2 questions. */
export const count = (n, one, many = `${one}s`) => `${n} ${n === 1 ? one : many}`;

/** Tell what happened to those who listen. */
export function say(text) {
  const place = document.getElementById("said");
  place.textContent = "";
  requestAnimationFrame(() => { place.textContent = text; });
}

/** Show a notice across the page; without text it goes away. */
export function notice(text, kind = "note", ...actions) {
  const close = h("button.quiet", { onclick: () => notice("") }, "Close");
  document.getElementById("notice").replaceChildren(...(text ? [h(`div.notice.${kind}`, { role: "alert" }, h("p", {}, text), h("div.row", {}, ...actions, close))] : []));
}

/** Draw again without losing the place: the focus, what is being typed, and the scroll. */
export function redrawn(draw) {
  const active = document.activeElement;
  const key = active?.dataset?.focus;
  const typed = active && ["INPUT", "TEXTAREA"].includes(active.tagName) && !["checkbox", "radio"].includes(active.type) ? active.value : null;
  const at = typed === null ? null : [active.selectionStart, active.selectionEnd];
  const scrolled = window.scrollY;
  draw();
  window.scrollTo(0, scrolled);
  if (!key) return;
  const again = document.querySelector(`[data-focus="${CSS.escape(key)}"]`);
  if (again && !again.disabled) {
    again.focus({ preventScroll: true });
    if (typed !== null && again.value !== undefined) {
      again.value = typed;
      try { again.setSelectionRange(...at); } catch { /* a number field has no selection */ }
    }
  } else {
    const nearest = document.querySelector("[data-rest]") ?? document.getElementById("view");
    nearest.focus({ preventScroll: true });
  }
}

/** A count drawn as on a tally list: four strokes and one across. The number itself stands beside it in words. */
export function tally(n) {
  const shown = Math.min(n, 15);
  const drawing = svg("svg", { viewBox: `0 0 ${Math.max(10, Math.floor(shown / 5) * 30 + (shown % 5) * 5 + (shown % 5 ? 2 : -6))} 20`, class: "tally", "aria-hidden": "true", width: Math.max(8, Math.round((Math.floor(shown / 5) * 30 + (shown % 5) * 5 + (shown % 5 ? 2 : -6)) * 0.8)), height: 16 });
  for (let i = 0; i < shown; i += 1) {
    const [left, place] = [Math.floor(i / 5) * 30, i % 5];
    drawing.append(place < 4
      ? svg("line", { x1: left + 4 + place * 5, y1: 2 + (place % 2), x2: left + 3 + place * 5, y2: 18 - (place % 2) })
      : svg("line", { x1: left, y1: 15, x2: left + 23, y2: 5 }));
  }
  return drawing;
}

/** A labelled field. */
export function field(label, input, hint) {
  const id = input.id || `f${Math.random().toString(36).slice(2, 9)}`;
  input.id = id;
  const told = hint ? h("span.hint", { id: `${id}-hint` }, hint) : null;
  if (told) input.setAttribute("aria-describedby", told.id);
  return h("div.field", {}, h("label", { for: id }, label), input, told);
}

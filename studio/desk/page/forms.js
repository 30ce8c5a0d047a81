// The forms in which a size, an offer or another row of the catalogue is given; used where it is asked and where it is shown.

import { get } from "./api.js";
import { field, h, notice } from "./dom.js";
import { store } from "./store.js";
import { exact, exacts, mixed, UNITS } from "./sizes.js";

const OFFERS = {
  gift_over_threshold: "A gift from a certain sum", gift_with_purchase: "A gift with an item", percent_off: "Per cent off",
  free_delivery: "Free delivery", buy_n_get_m: "Buy some, get more", dates: "Only the dates", last_chance: "Last chance",
};
export const offerName = (kind) => OFFERS[kind] ?? kind;

/** A choice among words. */
export function select(id, options, value) {
  return h("select", { id, "data-focus": id }, options.map(([key, told]) => h("option", { value: key, selected: key === value }, told)));
}

/** What a size really is; `done` gets the edit. */
export function measureForm(measure, anchor, name, done, more = []) {
  const values = h("input", { id: `${name}-values`, "data-focus": `${name}-values`, value: measure.values.map(mixed).join(" x "), autocomplete: "off" });
  const units = UNITS.includes(measure.unit) || !measure.unit ? UNITS : [measure.unit, ...UNITS];
  const unit = select(`${name}-unit`, units.map((one) => [one, one]), measure.unit);
  const pieces = h("input", { id: `${name}-pieces`, "data-focus": `${name}-pieces`, type: "number", min: 1, value: measure.quantity ?? "" });
  const of = h("input", { id: `${name}-of`, "data-focus": `${name}-of`, value: measure.of ?? "" });
  const edit = (changes) => ({ kind: "measure_set", anchor, ...changes });
  const submit = (event) => {
    event.preventDefault();
    const found = exacts(values.value);
    if (!found) { notice(`“${values.value}” is no size. Write it as 4 1/4 x 5 1/2.`, "ask"); values.focus(); return; }
    done(edit({ values: found, unit: unit.value, quantity: pieces.value ? Number(pieces.value) : null, of: of.value.trim() || null }));
  };
  return h("form.inline", { onsubmit: submit },
    field("Size or amount", values, "As in 4 1/4 x 5 1/2"), field("Unit", unit), field("How many pieces", pieces), field("Of what", of),
    h("div.row", {}, h("button.main", { "data-focus": `${name}-use` }, "Use this"), more,
      h("button", { type: "button", "data-focus": `${name}-none`, onclick: () => done(edit({ removed: true })) }, "No size at all")));
}

/** The terms of an offer; `done` gets the edit. */
export function offerForm(offer, anchor, name, done) {
  const kind = select(`${name}-kind`, Object.entries(OFFERS), offer.kind);
  const input = (key, type, value) => h("input", { id: `${name}-${key}`, "data-focus": `${name}-${key}`, type, value: value ?? "", autocomplete: "off" });
  const [sum, currency] = [input("sum", "text", offer.threshold), input("currency", "text", offer.currency)];
  const [percent, code] = [input("percent", "text", offer.percent && mixed(offer.percent)), input("code", "text", offer.promo_code)];
  const [from, to] = [input("from", "date", offer.starts_on), input("to", "date", offer.ends_on)];
  const gift = input("gift", "text", offer.reward_code);
  const submit = (event) => {
    event.preventDefault();
    const money = sum.value.trim().replace(",", ".");
    if (money && !/^\d{1,9}(\.\d{1,2})?$/.test(money)) { notice(`“${sum.value}” is no sum. Write it as 40 or 40.00.`, "ask"); sum.focus(); return; }
    if (percent.value.trim() && !exact(percent.value)) { notice(`“${percent.value}” is no number.`, "ask"); percent.focus(); return; }
    done({
      kind: "offer_set", anchor, offer: kind.value, threshold: money || null, currency: currency.value.trim().toUpperCase(),
      percent: percent.value.trim() ? exact(percent.value) : null, promo_code: code.value.trim() || null,
      reward_code: gift.value.trim() || null, starts_on: from.value || null, ends_on: to.value || null,
    });
  };
  return h("form.inline", { onsubmit: submit },
    field("What kind of offer", kind), field("From which sum", sum), field("Currency", currency), field("Per cent", percent), field("Code to type in", code),
    field("Code of the gift", gift), field("From", from), field("Last day", to),
    h("div.row", {}, h("button.main", { "data-focus": `${name}-use` }, "Use this"),
      h("button", { type: "button", "data-focus": `${name}-none`, onclick: () => done({ kind: "offer_set", anchor, offer: offer.kind, removed: true }) }, "No offer")));
}

/** A row of the catalogue as a card to choose. */
export function productFace(row) {
  const facts = [row.kind, row.colour, row.size, row.page && `page ${row.page}`].filter(Boolean).join(" · ");
  return [row.picture ? h("img", { src: `/folio/${store.folio.id}/picture/${row.picture}`, alt: "", loading: "lazy" }) : h("span.nopicture", { "aria-hidden": "true" }),
    h("span.facts", {}, h("strong", {}, row.name), h("span.code", {}, row.code), h("span.hint", {}, facts)), h("span.price", {}, row.price)];
}

/** Look another row of the catalogue up; `done` gets it. */
export function productSearch(name, label, done) {
  const list = h("div.choices", { "aria-live": "polite" });
  let asked = 0;
  const look = async () => {
    const turn = (asked += 1);
    const rows = input.value.trim() ? await get(`/api/folio/${store.folio.id}/products?words=${encodeURIComponent(input.value)}`).catch(() => []) : [];
    if (turn !== asked) return;
    list.replaceChildren(...(input.value.trim() && !rows.length ? [h("p.hint", {}, "Nothing in the catalogue fits.")] : rows.map((row) => h("button.choice", { type: "button", onclick: () => done(row) }, ...productFace(row)))));
  };
  const input = h("input", { id: name, "data-focus": name, type: "search", autocomplete: "off", oninput: look });
  return h("div.search", {}, field(label, input), list);
}

// Table: the recording beside what was made of it: the talk, supplies, sizes, offers, cautions, what was left out.

import { get } from "./api.js";
import { clock, count, field, h, notice } from "./dom.js";
import { cutsheet } from "./cutsheet.js";
import { measureForm, offerForm, offerName, productSearch } from "./forms.js";
import { moment, now, play, player } from "./player.js";
import { flags, past } from "./past.js";
import { ruler } from "./ruler.js";
import { exact, mixed, UNITS } from "./sizes.js";
import { decide, store } from "./store.js";
import { talk } from "./talk.js";

const SHEETS = [["talk", "Talk"], ["supplies", "Supplies"], ["sizes", "Sizes and cuts"], ["offers", "Offers"], ["cautions", "Cautions"], ["left", "Left out"]];
const state = { folio: "", sheet: "talk", open: "", left: null };
let again = null;

/** Draw the third step. */
export function table(view, redraw) {
  again = redraw;
  const { folio } = store;
  if (state.folio !== folio.id) Object.assign(state, { folio: folio.id, open: "", left: null });
  const sheets = { talk: () => talk(redraw), supplies, sizes, offers, cautions, left };
  view.replaceChildren(h("div.tablet", {},
    h("h1", { tabindex: -1, "data-first": true, "data-rest": true }, folio.source),
    flags(folio),
    h("div.bench.wide-left", {},
      h("aside.side", {}, player(), folio.chapters.length ? ruler(play) : null, counted(), past(redraw)),
      h("div", {}, tabs(), h("div.sheet.panel", { role: "tabpanel", id: "panel", "aria-labelledby": `sheet-${state.sheet}`, tabindex: -1 }, sheets[state.sheet]())))));
}

function tabs() {
  const pick = (name) => { state.sheet = name; state.open = ""; again(); document.getElementById(`sheet-${name}`).focus(); };
  const keys = (event) => {
    const by = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (!by) return;
    event.preventDefault();
    const at = SHEETS.findIndex(([name]) => name === state.sheet);
    pick(SHEETS[(at + by + SHEETS.length) % SHEETS.length][0]);
  };
  const { folio } = store;
  const counts = { supplies: folio.supplies.length, sizes: folio.measures.length, offers: folio.offers.length, cautions: folio.cautions.length };
  return h("div.sheets", { role: "tablist", "aria-label": "What was made of it", onkeydown: keys }, SHEETS.map(([name, told]) =>
    h("button.sheettab", { role: "tab", id: `sheet-${name}`, "data-focus": `sheet-${name}`, "aria-selected": String(name === state.sheet), "aria-controls": "panel", tabindex: name === state.sheet ? 0 : -1, onclick: () => pick(name) }, told, counts[name] ? h("span.n", {}, String(counts[name])) : null)));
}

function counted() {
  const input = h("input", { id: "count", "data-focus": "count", type: "number", min: 1, max: 200, value: store.folio.chapters.length });
  const submit = (event) => { event.preventDefault(); decide({ kind: "chapters_counted", count: input.value ? Number(input.value) : null }, "The talk is parted anew."); };
  return h("form.row.counted", { onsubmit: submit }, field("How many chapters", input), h("button", { "data-focus": "count-use" }, "Part it anew"));
}

// --- supplies -------------------------------------------------------------------------------------------------------

const AVAILABLE = { on_sale: "", not_yet: "not on sale yet", retired: "no longer sold", unknown: "" };

function supplies() {
  const rows = store.folio.supplies;
  const add = state.open === "add" ? productSearch("add-item", "Name, code or colour", (product) => addItem(product)) : null;
  return h("div", {}, h("h2", {}, "Supplies"),
    rows.length ? h("ol.tallylist", {}, rows.map((row, place) => supply(row, place, rows))) : h("p", {}, "Nothing of the catalogue was on the table."),
    h("div.row", {}, h("button", { "data-focus": "add", "aria-expanded": String(state.open === "add"), onclick: () => { state.open = state.open === "add" ? "" : "add"; again(); document.getElementById("add-item")?.focus(); } }, "Something is missing …"), add ? h("span.hint", {}, "It is taken to be shown where the recording stands now.") : null), add);
}

function addItem(product) {
  state.open = "";
  decide({ kind: "mention_decided", anchor: { start_ms: now(), end_ms: now(), heard: product.name }, choice: "code", code: product.code, role: "shown" }, `${product.name} is on the list.`);
}

function supply(row, place, rows) {
  const key = `row-${row.item}`;
  const put = (by) => {
    const items = rows.map((one) => one.item);
    [items[place], items[place + by]] = [items[place + by], items[place]];
    decide({ kind: "supplies_ordered", items }, `${row.name} is number ${place + by + 1}.`);
  };
  const set = (changes) => decide({ kind: "supply_set", item: row.item, quantity: row.quantity, colour: row.colour, ...changes }, "Noted.");
  const quantity = h("input.short", { type: "number", min: 1, max: 9999, value: row.quantity ?? "", "data-focus": `${key}-n`, "aria-label": `How many of ${row.name}`, onchange: (event) => set({ quantity: event.target.value ? Number(event.target.value) : null }) });
  const colour = h("input.short", { value: row.colour ?? "", "data-focus": `${key}-c`, "aria-label": `Colour of ${row.name}`, onchange: (event) => set({ colour: event.target.value.trim() || null }) });
  const away = AVAILABLE[row.availability];
  const swap = row.pictures.length > 1 ? h("button.quiet", { "data-focus": `${key}-s`, "aria-expanded": String(state.open === key), "aria-label": `Another picture of ${row.name}`, onclick: () => { state.open = state.open === key ? "" : key; again(); } }, "Another picture") : null;
  return h("li", {},
    row.picture ? h("img", { src: `/folio/${store.folio.id}/picture/${row.picture}`, alt: "", loading: "lazy" }) : h("span.nopicture", { "aria-hidden": "true" }),
    h("div.facts", {}, h("strong", {}, row.name), h("span.code", {}, row.code ?? "not in the catalogue"),
      h("span.hint", {}, [row.price && `${row.price} ${row.currency}`, row.page && `page ${row.page}`].filter(Boolean).join(" · ")),
      away ? h("span.flag.error", {}, away) : null, row.state === "ask" ? h("span.flag.ask", {}, "to decide") : null),
    h("div.row.pair", {}, h("label", {}, "How many", quantity), h("label", {}, "Colour", colour)),
    h("div.row", {}, h("button.quiet", { onclick: () => moment({ start_ms: row.first_shown_ms, end_ms: row.first_shown_ms + 2000 }), "data-focus": `${key}-p`, "aria-label": `Play ${row.name} at ${row.at}` }, `at ${row.at}`), swap,
      h("button.quiet", { "data-focus": `${key}-u`, disabled: place === 0, "aria-label": `Move ${row.name} up`, onclick: () => put(-1) }, "Up"),
      h("button.quiet", { "data-focus": `${key}-d`, disabled: place === rows.length - 1, "aria-label": `Move ${row.name} down`, onclick: () => put(1) }, "Down"),
      h("button.quiet", { "data-focus": `${key}-off`, "aria-label": `Take ${row.name} off the list`, onclick: () => set({ removed: true }) }, "Take off")),
    state.open === key ? pictures(row) : null);
}

function pictures(row) {
  return h("div.five", { role: "group", "aria-label": `Pictures of ${row.name}` }, row.pictures.map((one, place) => {
    const now = one.id === row.picture;
    return h(`button.picture${now ? ".now" : ""}`, { "aria-pressed": String(now), "aria-label": `Picture ${place + 1}${now ? ", the one taken" : ""}`, "data-focus": `picture-${place}`, onclick: () => decide({ kind: "still_swapped", subject: row.subject, file: one.file }, "Swapped.") },
      h("img", { src: `/folio/${store.folio.id}/picture/${one.id}`, alt: "", loading: "lazy" }), now ? h("span.hint", {}, "taken") : null);
  }));
}

// --- sizes and cuts -------------------------------------------------------------------------------------------------

function sizes() {
  const { measures, cuts } = store.folio;
  return h("div", {}, h("h2", {}, "Cutting sheet"), cutsheet(cuts) ?? h("p.hint", {}, "No piece to cut was named."),
    h("ul.plain", {}, cuts.map(cutRow)), state.open === "cut-new" ? cutForm(null) : h("button", { "data-focus": "cut-add", onclick: () => { state.open = "cut-new"; again(); document.getElementById("cut-size")?.focus(); } }, "Add a piece …"),
    h("h2", {}, "Sizes and amounts"), measures.length ? h("ul.plain", {}, measures.map(measure)) : h("p.hint", {}, "None was said."));
}

function cutRow(cut, place) {
  const key = `cut-${place}`;
  if (state.open === key) return h("li", {}, cutForm(cut));
  return h("li.line", {}, h("span", {}, `${cut.quantity} × ${cut.material || "paper"}`), h("strong.num", {}, `${mixed(cut.width)} × ${mixed(cut.height)} ${cut.unit}`),
    h("button.quiet", { "data-focus": key, "aria-label": `Change piece ${place + 1}`, onclick: () => { state.open = key; again(); document.getElementById("cut-size")?.focus(); } }, "Change"),
    h("button.quiet", { "data-focus": `${key}-off`, "aria-label": `Take piece ${place + 1} off`, onclick: () => decide({ kind: "cut_set", was: cut }, "Taken off.") }, "Take off"));
}

function cutForm(cut) {
  const input = (key, value, more = {}) => h("input", { id: `cut-${key}`, "data-focus": `cut-${key}`, value: value ?? "", autocomplete: "off", ...more });
  const size = input("size", cut ? `${mixed(cut.width)} x ${mixed(cut.height)}` : "");
  const [of, pieces, scores] = [input("of", cut?.material), input("pieces", cut?.quantity ?? 1, { type: "number", min: 1 }), input("scores", cut?.scores.map(mixed).join(", "))];
  const unit = h("select", { id: "cut-unit", "data-focus": "cut-unit" }, UNITS.slice(0, 6).map((one) => h("option", { value: one, selected: one === cut?.unit }, one)));
  const submit = (event) => {
    event.preventDefault();
    const sides = size.value.split(/\s*(?:[x×]|\bby\b)\s*/i).map(exact);
    const lines = scores.value.split(/[,;]/).filter((one) => one.trim()).map(exact);
    if (sides.length !== 2 || sides.some((side) => !side) || lines.some((one) => !one)) { notice("Write the size as 4 1/4 x 5 1/2, and the score lines as 2 1/8, 3.", "ask"); size.focus(); return; }
    state.open = "";
    const now = { material: of.value.trim(), width: sides[0], height: sides[1], unit: unit.value, quantity: Number(pieces.value) || 1, scores: lines, measure_ids: cut?.measure_ids ?? [] };
    decide({ kind: "cut_set", was: cut, now }, "Noted.");
  };
  return h("form.inline", { onsubmit: submit }, field("Size", size, "As in 4 1/4 x 5 1/2"), field("Unit", unit), field("Of what", of), field("How many", pieces), field("Score at", scores, "From the left edge, as in 2 1/8, 3"),
    h("div.row", {}, h("button.main", {}, "Use this"), h("button", { type: "button", onclick: () => { state.open = ""; again(); } }, "Leave it")));
}

function measure(one, place) {
  const key = `measure-${place}`;
  const anchor = { start_ms: one.start_ms, end_ms: one.end_ms, heard: one.heard };
  const shown = [one.quantity && `${one.quantity} of`, one.shown, [one.metric, one.imperial].filter((other) => other && other !== one.shown).map((other) => `(${other})`).join(" ")].filter(Boolean).join(" ");
  if (state.open === key) return h("li", {}, measureForm(one, anchor, key, (edit) => { state.open = ""; decide(edit, "Noted."); }));
  return h("li.line", {}, h("button.quiet", { "data-focus": `${key}-p`, "aria-label": `Play “${one.heard}” at ${clock(one.start_ms)}`, onclick: () => moment(anchor) }, clock(one.start_ms)),
    h("span", {}, `“${one.heard}”`), h("strong.num", {}, shown), one.of ? h("span.hint", {}, one.of) : null, one.state === "ask" ? h("span.flag.ask", {}, "to decide") : null,
    h("button.quiet", { "data-focus": key, "aria-label": `Change “${one.heard}”`, onclick: () => { state.open = key; again(); document.getElementById(`${key}-values`)?.focus(); } }, "Change"));
}

// --- offers, cautions, left out -------------------------------------------------------------------------------------

function offers() {
  const rows = store.folio.offers;
  return h("div", {}, h("h2", {}, "Offers"), rows.length ? h("ul.plain", {}, rows.map(offer)) : h("p.hint", {}, "No offer was made."));
}

function offer(one, place) {
  const key = `offer-${place}`;
  const anchor = { start_ms: one.start_ms, end_ms: one.start_ms + Math.max(2000, 300 * one.heard.split(" ").length), heard: one.heard };
  const terms = [one.threshold && `from ${one.threshold} ${one.currency}`, one.percent && `${mixed(one.percent)} %`, one.promo_code && `code ${one.promo_code}`, one.reward_code && `gift ${one.reward_code}`, one.starts_on && `from ${one.starts_on}`, one.ends_on && `until ${one.ends_on}`].filter(Boolean).join(", ");
  if (state.open === key) return h("li", {}, offerForm(one, anchor, key, (edit) => { state.open = ""; decide(edit, "Noted."); }));
  return h("li.line", {}, h("button.quiet", { "data-focus": `${key}-p`, "aria-label": `Play the offer at ${clock(one.start_ms)}`, onclick: () => moment(anchor) }, clock(one.start_ms)),
    h("strong", {}, offerName(one.kind)), h("span", {}, terms || `“${one.heard}”`), one.state === "ask" ? h("span.flag.ask", {}, "to decide") : null,
    h("button.quiet", { "data-focus": key, "aria-label": `Change the offer at ${clock(one.start_ms)}`, onclick: () => { state.open = key; again(); document.getElementById(`${key}-kind`)?.focus(); } }, "Change"));
}

function cautions() {
  const rows = store.folio.cautions;
  const own = h("input", { id: "own-caution", "data-focus": "own-caution", maxlength: 500, autocomplete: "off" });
  const submit = (event) => { event.preventDefault(); if (own.value.trim()) { const line = own.value.trim(); own.value = ""; decide({ kind: "caution_added", line }, "Added."); } };
  return h("div", {}, h("h2", {}, "Cautions"),
    rows.length ? h("ul.plain", {}, rows.map((one) => h("li.line", {}, h("span", {}, one.line), h("span.hint", {}, `${one.source}, at ${one.triggers_ms.map(clock).join(", ")}`),
      h("button.quiet", { "data-focus": `caution-${one.hazard}`, "aria-label": `Take off: ${one.line}`, onclick: () => decide({ kind: "caution_removed", hazard: one.hazard }, "Taken off.") }, "Take off")))) : h("p.hint", {}, "None is printed."),
    h("form.inline.single", { onsubmit: submit }, field("A caution in your own words", own), h("div.row", {}, h("button", { "data-focus": "caution-add" }, "Add it"))));
}

function left() {
  const { folio } = store;
  if (state.left?.version !== folio.version) {
    const { version } = folio;
    state.left = { version, rows: state.left?.rows ?? null };
    get(`/api/folio/${folio.id}/left-out`).then((rows) => { if (state.left.version === version) { state.left.rows = rows; again(); } }).catch((trouble) => notice(trouble.message, "error"));
  }
  const { rows } = state.left;
  if (!rows) return h("p.wait", {}, "Looking through the talk …");
  return h("div", {}, h("h2", {}, `Said, but not in the post: ${count(rows.length, "sentence")}`), h("p.hint", {}, "Press Enter on a sentence to put it back."),
    h("ul.plain", {}, rows.map((one, place) => h("li", {}, h("button.line", { "data-focus": `left-${place}`, onclick: () => decide({ kind: "sentence_put_back", anchor: { start_ms: one.start_ms, end_ms: one.end_ms, heard: one.text } }, "Put back.") },
      h("span.at", {}, clock(one.start_ms)), h("span.words", {}, one.text), h("span.hint", {}, one.reason), h("span.act", {}, "Put back"))))));
}


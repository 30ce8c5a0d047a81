// What was decided: the history, each line of which can be taken back; and what is wrong with the folio as a whole.

import { get } from "./api.js";
import { h, notice, redrawn } from "./dom.js";
import { decide, store, undo } from "./store.js";

const state = { folio: "", version: "", rows: [], open: false };

/** Draw what was decided; it is read when it is unfolded, and again after each decision. */
export function past(redraw) {
  const { folio } = store;
  if (state.folio !== folio.id) Object.assign(state, { folio: folio.id, version: "", rows: [], open: false });
  if (state.open && state.version !== folio.version) load(folio, redraw);
  const toggled = (event) => {
    if (event.target.open === state.open) return;
    state.open = event.target.open;
    if (state.open && state.version !== store.folio.version) load(store.folio, redraw);
  };
  return h("details.sheet.past", { ontoggle: toggled, open: state.open }, h("summary", { "data-focus": "history" }, "What you decided"),
    h("div.row", {}, h("button", { "data-focus": "undo", disabled: !folio.last, title: folio.last?.words, onclick: () => undo() }, "Take the last one back")),
    state.rows.length ? h("ol.plain", {}, state.rows.map(row)) : h("p.hint", {}, "Nothing yet."));
}

async function load({ id, version }, redraw) {
  state.version = version;
  try {
    const rows = await get(`/api/folio/${id}/history`);
    if (state.folio !== id || state.version !== version) return;
    state.rows = rows;
    redrawn(redraw);
  } catch (trouble) {
    state.version = "";
    notice(trouble.message, "error");
  }
}

const row = (one) => h("li", {}, h(one.stands || one.aside ? "span" : "s", {}, one.words), h("span.hint", {}, one.aside ? " kept aside" : one.stands ? "" : " taken back"), action(one));

function action(one) {
  if (one.aside) return h("button.quiet", { "data-focus": `use-${one.id}`, onclick: () => decide({ ...one.aside, id: undefined, made_at: undefined }, "Yours stands now.") }, "Use it");
  if (!one.stands) return null;
  return h("button.quiet", { "data-focus": `back-${one.id}`, "aria-label": `Take back: ${one.words}`, onclick: () => undo(one.id) }, "Take back");
}

/** Tell what is wrong with the folio as a whole; damage among the decisions stands until it was looked at. */
export function flags(folio) {
  const seen = () => decide({ kind: "damage_seen", lines: folio.lost }, "Noted.");
  const damage = folio.damage && h("div.row", {}, h("p.flag.error", {}, folio.damage), h("button", { "data-focus": "damage-seen", onclick: seen }, "I have looked at it"));
  return [damage || null, ...[folio.problem, folio.trouble].filter(Boolean).map((line) => h("p.flag.error", {}, line))];
}

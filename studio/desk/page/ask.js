// Ask: a time or some words; what was on the table then, with the picture, the row and the link.

import { get } from "./api.js";
import { count, field, h, notice, say } from "./dom.js";
import { play, player } from "./player.js";
import { store } from "./store.js";

const state = { folio: "", words: "", found: null, everywhere: null, size: "", sizes: null };
let again = null;

/** Draw the fifth step. */
export function ask(view, redraw) {
  again = redraw;
  const { folio } = store;
  if (state.folio !== folio.id) Object.assign(state, { folio: folio.id, words: "", found: null, everywhere: null });
  const input = h("input", { id: "ask", "data-focus": "ask", type: "search", value: state.words, autocomplete: "off", oninput: (event) => { state.words = event.target.value; } });
  view.replaceChildren(h("div.ask", {}, h("h1", { tabindex: -1, "data-first": true, "data-rest": true }, "What was that at 6:20?"),
    h("div.bench", {}, h("div", {},
      h("form.sheet.inline.single", { role: "search", onsubmit: (event) => { event.preventDefault(); look(); } }, field("A time, or some words", input, "As in 6:20, or blue paper"),
        h("div.row", {}, h("button.main", { "data-focus": "ask-here" }, "Look here"), h("button", { type: "button", "data-focus": "ask-all", onclick: everywhere }, "Look in all my recordings"))),
      answers(), others()), h("aside.side", {}, player(), reading()))));
}

async function look() {
  if (!state.words.trim()) return;
  try {
    state.found = await get(`/api/folio/${store.folio.id}/ask?words=${encodeURIComponent(state.words)}`);
    state.everywhere = null;
    notice("");
    say(count(state.found.length, "answer"));
    again();
  } catch (trouble) {
    notice(trouble.message, "ask");
  }
}

async function everywhere() {
  if (!state.words.trim()) return;
  try {
    state.everywhere = await get(`/api/find?words=${encodeURIComponent(state.words)}`);
    say(count(state.everywhere.length, "place"));
    again();
  } catch (trouble) {
    notice(trouble.message, "ask");
  }
}

function answers() {
  if (!state.found) return null;
  if (!state.found.length) return h("p.flag.ask", {}, "Nothing was said or shown that fits.");
  return h("ol.plain", {}, state.found.map((one) => h("li.sheet.answer", {}, h("div.cardhead", {}, h("button", { onclick: () => play(one.at_ms), "aria-label": `Play from ${one.at}` }, one.at), h("h2", {}, one.chapter)),
    one.items.length ? h("ul.plain", {}, one.items.map(item)) : h("p.hint", {}, "Nothing of the catalogue was on the table."),
    one.measures.map((measure) => h("p", {}, `Size or amount: ${measure.heard}`)), one.said ? h("blockquote", {}, one.said) : null)));
}

function item(one) {
  const { row } = one;
  if (!row || one.maybe.length) return h("li", {}, h("span.flag.ask", {}, one.maybe.length ? `Not sure: ${one.maybe.join(" or ")}` : "Not in the catalogue"), ` heard: “${one.heard}” `, one.maybe.length ? h("a", { href: `#/${store.folio.id}/settle` }, "Settle it") : null);
  return h("li.choice.still", {}, row.picture ? h("img", { src: `/folio/${store.folio.id}/picture/${row.picture}`, alt: "", loading: "lazy" }) : h("span.nopicture", { "aria-hidden": "true" }),
    h("span.facts", {}, h("strong", {}, row.name), h("span.code", {}, row.code ?? ""), h("span.hint", {}, [row.colour, row.page && `page ${row.page}`].filter(Boolean).join(" · ")), row.url && /^https?:/.test(row.url) ? h("a", { href: row.url, rel: "noreferrer noopener", target: "_blank" }, "To the shop") : null),
    h("span.price", {}, row.price ? `${row.price} ${row.currency}` : ""));
}

function others() {
  if (!state.everywhere) return null;
  if (!state.everywhere.length) return h("p.flag.ask", {}, "In none of your recordings.");
  return h("ul.plain.sheet", {}, state.everywhere.map((one) => h("li", {}, h("a", { href: `#/${one.folio}/ask` }, `${one.source} at ${one.at}`), h("span", {}, ` ${one.text}`))));
}

function reading() {
  const input = h("input", { id: "size", "data-focus": "size", value: state.size, autocomplete: "off", oninput: (event) => { state.size = event.target.value; } });
  const submit = async (event) => {
    event.preventDefault();
    try {
      state.sizes = await get(`/api/read?words=${encodeURIComponent(state.size)}`);
      again();
    } catch (trouble) { notice(trouble.message, "ask"); }
  };
  const rows = state.sizes?.map((row) => h("dl.facts", {}, Object.entries(row).filter(([, value]) => value).map(([key, value]) => [h("dt", {}, key.replaceAll("_", " ")), h("dd", {}, value)])));
  return h("form.sheet.inline.single", { onsubmit: submit, "aria-label": "A size" }, field("How is a size understood?", input, "As in four and a quarter by five and a half"), h("div.row", {}, h("button", { "data-focus": "size-ask" }, "Read it")), rows ? (rows.length ? rows : h("p.hint", {}, "No size in it.")) : null);
}

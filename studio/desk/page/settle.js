// Settle: one list of questions, the riskiest first, each with the seconds behind it and the choices.

import { count, h } from "./dom.js";
import { measureForm, offerForm, productFace, productSearch } from "./forms.js";
import { flags, past } from "./past.js";
import { moment, player } from "./player.js";
import { decide, store, undo } from "./store.js";

const WEIGHT = { error: "Wrong", ask: "To decide", warning: "To check" };
const state = { folio: "", open: "", always: false, all: true, search: false };
let again = null;

/** Draw the second step. */
export function settle(view, redraw) {
  again = redraw;
  const { folio } = store;
  if (state.folio !== folio.id) Object.assign(state, { folio: folio.id, open: "", always: false, all: true, search: false });
  const { questions } = folio;
  if (!questions.some((one) => one.key === state.open)) Object.assign(state, { open: questions[0]?.key ?? "", always: false, all: true, search: false });
  const rows = questions.map((one, place) => row(one, place, questions));
  view.replaceChildren(h("div.settle", {},
    h("h1", { tabindex: -1, "data-first": questions.length ? null : true, "data-rest": questions.length ? null : true }, heading(questions.length)),
    flags(folio),
    questions.length
      ? h("p.keys", {}, h("kbd", {}, "1"), "–", h("kbd", {}, "9"), " choose, ", h("kbd", {}, "0"), " none of these, ", h("kbd", {}, "P"), " play, ", h("kbd", {}, "↑"), h("kbd", {}, "↓"), " another question, ", h("kbd", {}, "U"), " take back")
      : h("p", {}, "Nothing is waiting for you. ", h("a", { href: `#/${folio.id}/take`, "data-focus": "to-take" }, "Take the result away"), "."),
    h("div.bench", {}, h("ol.questions", { onkeydown: keys, "aria-label": "Questions" }, rows), h("aside.side", {}, player(), past(redraw)))));
}

const heading = (n) => (n ? `${count(n, "question")}${n > 1 ? ", the riskiest first" : ""}` : "Everything is settled");

function row(one, place, questions) {
  const isOpen = one.key === state.open;
  const show = () => { Object.assign(state, { open: one.key, always: false, all: true, search: false }); again(); focusCard(); };
  const line = [h("span.at", {}, one.at), h(`span.flag.${one.severity}`, {}, WEIGHT[one.severity] ?? "To check"), h("span.words", {}, one.text)];
  if (!isOpen) return h("li", {}, h("button.line", { "data-focus": `q-${one.key}`, "aria-expanded": "false", onclick: show }, ...line));
  return h("li.card.sheet", { tabindex: -1, id: "card", "data-first": true, "data-rest": true, "data-focus": "card", "aria-label": `Question ${place + 1} of ${questions.length}: ${one.text}` },
    h("div.cardhead", {}, h("span.at", {}, one.at), h(`span.flag.${one.severity}`, {}, WEIGHT[one.severity] ?? "To check"), one.times > 1 ? h("span.hint", {}, `heard ${one.times} times`) : null),
    h("h2", {}, one.text), evidence(one), answers(one));
}

function focusCard() {
  const card = document.getElementById("card");
  card?.focus({ preventScroll: true });
  card?.scrollIntoView({ block: "nearest" });
}

function evidence(one) {
  const listen = store.folio.has_sound ? h("button", { "data-focus": "listen", onclick: () => moment(one.anchor) }, "Play these 5 seconds ", h("kbd", {}, "P")) : null;
  const picture = one.picture ? h("img.evidence", { src: `/folio/${store.folio.id}/picture/${one.picture}`, alt: `The table near ${one.at}`, loading: "lazy" }) : null;
  return h("div.behind", {}, picture, h("div", {}, one.said ? h("blockquote", {}, ...marked(one.said, one.anchor.heard)) : null, listen));
}

function marked(said, heard) {
  const at = heard ? said.toLowerCase().indexOf(heard.toLowerCase()) : -1;
  return at < 0 ? [said] : [said.slice(0, at), h("mark", {}, said.slice(at, at + heard.length)), said.slice(at + heard.length)];
}

function answers(one) {
  if (one.about === "item") return itemAnswers(one);
  if (one.about === "measure") return measureForm(one.thing, one.anchor, "measure", done, h("button", { type: "button", "data-focus": "right", onclick: () => done({ kind: "measure_set", anchor: one.anchor, values: one.thing.values, unit: one.thing.unit, quantity: one.thing.quantity, of: one.thing.of }) }, "Right as it is"));
  if (one.about === "offer") return offerForm(one.thing, one.anchor, "offer", done);
  return findingAnswers(one);
}

const done = (edit) => decide(edit, "Settled.");
const mention = (one, choice, code = null) => done({ kind: "mention_decided", anchor: one.anchor, choice, code, everywhere: one.times > 1 && state.all, always: Boolean(code && state.always) });

function itemAnswers(one) {
  const choices = one.choices.map((product, place) => h("button.choice", { "data-focus": `choice-${place}`, onclick: () => mention(one, "code", product.code) }, h("kbd", {}, String(place + 1)), ...productFace(product)));
  const always = h("input", { type: "checkbox", id: "always", "data-focus": "always", checked: state.always, onchange: (event) => { state.always = event.target.checked; } });
  return h("div", {}, h("div.choices", {}, choices),
    one.times > 1 ? h("p.check", {}, h("input", { type: "checkbox", id: "all", "data-focus": "all", checked: state.all, onchange: (event) => { state.all = event.target.checked; } }), h("label", { for: "all" }, `The same for all ${one.times} times`)) : null,
    h("p.check", {}, always, h("label", { for: "always" }, `Always mean this by “${one.anchor.heard}”, next time too`)),
    h("div.row", {},
      h("button", { "data-focus": "none", onclick: () => mention(one, "none") }, h("kbd", {}, "0"), " None of these"),
      h("button", { "data-focus": "notshown", onclick: () => mention(one, "not_shown") }, h("kbd", {}, "N"), " Only talked of, not shown"),
      h("button", { "data-focus": "other", "aria-expanded": String(state.search), onclick: () => { state.search = !state.search; again(); document.querySelector('[data-focus="find-other"]')?.focus(); } }, "Another from the catalogue …")),
    state.search ? productSearch("find-other", "Name, code or colour", (product) => mention(one, "code", product.code)) : null);
}

function findingAnswers(one) {
  const { thing } = one;
  const answer = h("input", { id: "answer", "data-focus": "answer", autocomplete: "off", maxlength: 500 });
  const settleIt = (event) => {
    event.preventDefault();
    done({ kind: "finding_settled", finding: thing.kind, start_ms: thing.start_ms, heard: thing.heard, code: thing.code, answer: answer.value.trim() });
  };
  return h("div", {},
    thing.expected ? h("dl.facts", {}, h("dt", {}, "Heard"), h("dd", {}, thing.heard || "–"), h("dt", {}, "Expected"), h("dd", {}, thing.expected)) : null,
    one.choices.length ? h("ul.plain", {}, one.choices.map((product) => h("li.choice.still", {}, ...productFace(product)))) : null,
    h("form.inline.single", { onsubmit: settleIt }, h("div.field", {}, h("label", { for: "answer" }, "Why it may stay (you may leave this empty)"), answer),
      h("div.row", {}, h("button.main", { "data-focus": "looked" }, "Looked at, it may stay"), h("a.button", { href: `#/${store.folio.id}/table`, "data-focus": "to-table" }, "Change it on the table"))));
}

function keys(event) {
  const typing = event.target.matches("input, select, textarea");
  if (typing || event.ctrlKey || event.metaKey || event.altKey) return;
  const { questions } = store.folio;
  const place = questions.findIndex((one) => one.key === state.open);
  const one = questions[place];
  const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
  if (step && questions[place + step]) {
    Object.assign(state, { open: questions[place + step].key, always: false, all: true, search: false });
    again();
    focusCard();
  } else if (event.key.toLowerCase() === "p" && one) moment(one.anchor);
  else if (event.repeat) return;
  else if (event.key.toLowerCase() === "u") undo();
  else if (one?.about === "item" && /^[1-9]$/.test(event.key) && one.choices[event.key - 1]) mention(one, "code", one.choices[event.key - 1].code);
  else if (one?.about === "item" && event.key === "0") mention(one, "none");
  else if (one?.about === "item" && event.key.toLowerCase() === "n") mention(one, "not_shown");
  else return;
  event.preventDefault();
}

// Take away: what still blocks publishing, each piece with a copy button and a look at it, everything as one zip.

import { get, post, text } from "./api.js";
import { bytes, count, field, h, notice, say } from "./dom.js";
import { flags } from "./past.js";
import { decide, store } from "./store.js";

const state = { folio: "", files: null, version: "", name: "post.html", shown: null, more: false, breaches: null };
let again = null;
const MAIN = 8;

/** Draw the fourth step. */
export function take(view, redraw) {
  again = redraw;
  const { folio } = store;
  if (state.folio !== folio.id) Object.assign(state, { folio: folio.id, files: null, version: "", name: "post.html", shown: null });
  if (state.version !== folio.version || !state.files) load(folio);
  view.replaceChildren(h("div.take", {}, h("h1", { tabindex: -1, "data-first": true, "data-rest": true }, "Take the result away"), flags(folio), gate(folio),
    h("div.row", {}, h("a.button.main", { href: `/folio/${folio.id}/zip`, download: "", "data-focus": "zip" }, "Everything as one zip"),
      h("button", { "data-focus": "folder", onclick: openFolder }, "Open the folder"),
      folio.has_sound ? h("button", { "data-focus": "with-chapters", onclick: withChapters }, "A copy of the recording with the chapters in it") : null),
    folio.fresh ? null : h("p.flag.ask", { role: "status" }, "What you decided is being written into the files …"),
    h("div.bench.wide-right", {}, list(), preview(folio))));
}

async function load(folio) {
  state.version = folio.fresh ? folio.version : "";
  try {
    const files = await get(`/api/folio/${folio.id}/files`);
    if (store.folio.id !== folio.id) return;
    const first = state.files === null;
    state.files = files;
    if (!files.some((one) => one.name === state.name)) state.name = files[0]?.name ?? "";
    await show(state.name, first);
  } catch (trouble) {
    notice(trouble.message, "error");
  }
}

async function show(name) {
  state.name = name;
  state.breaches = name.startsWith("captions.") ? await get(`/api/folio/${store.folio.id}/captions`).catch(() => null) : null;
  state.shown = name.endsWith(".html") || name.startsWith("stills/") ? null : await text(`/folio/${store.folio.id}/out/${name}`).catch((trouble) => trouble.message);
  again();
}

function gate(folio) {
  const { gate: door } = folio;
  if (!door.open.length) return h("p.flag.done.door", {}, "Nothing blocks publishing.");
  const left = folio.questions.filter((one) => door.open.includes(one.key));
  const why = h("ul.plain", {}, left.slice(0, 5).map((one) => h("li", {}, `${one.at} ${one.text}`)), left.length > 5 ? h("li.hint", {}, `and ${left.length - 5} more`) : null, door.waiting ? h("li.hint", {}, `${door.waiting} and stay out of what is published.`) : null);
  if (door.covered) return h("section.sheet.door", {}, h("p.flag.ask", {}, `${count(left.length, "question")} open. ${door.word.name} will publish all the same: ${door.word.reason}`), h("button", { "data-focus": "withdraw", onclick: () => decide({ kind: "undo", target: door.word.id }, "Withdrawn.") }, "Withdraw this"));
  const [name, reason] = ["name", "reason"].map((key) => h("input", { id: `door-${key}`, "data-focus": `door-${key}`, required: true, maxlength: key === "name" ? 100 : 500, autocomplete: key === "name" ? "name" : "off" }));
  const submit = (event) => { event.preventDefault(); decide({ kind: "publish_anyway", name: name.value.trim(), reason: reason.value.trim(), open: door.open }, "Noted with your name."); };
  return h("section.sheet.door", { "aria-labelledby": "door" }, h("h2", { id: "door" }, `${count(left.length, "question")} ${left.length === 1 ? "blocks" : "block"} publishing`), why,
    h("div.row", {}, h("a.button", { href: `#/${folio.id}/settle`, "data-focus": "to-settle" }, left.length === 1 ? "Settle it" : "Settle them")),
    h("details", {}, h("summary", { "data-focus": "anyway" }, "Publish all the same …"), h("form.inline", { onsubmit: submit }, field("Your name", name), field("Why it is right so", reason), h("div.row", {}, h("button", { "data-focus": "door-use" }, "I answer for it")))));
}

function list() {
  const rows = (state.files ?? []).filter((one) => !/^(stills|layouts)\//.test(one.name));
  const stills = (state.files ?? []).filter((one) => one.name.startsWith("stills/")).length;
  const item = (one) => h("li", {}, h(`button.line${one.name === state.name ? ".now" : ""}`, { "data-focus": `file-${one.name}`, "aria-current": one.name === state.name ? "true" : null, onclick: () => show(one.name) }, h("span.words", {}, one.told || one.name), h("span.hint", {}, `${one.name}, ${bytes(one.size)}`)));
  const rest = rows.slice(MAIN);
  return h("nav.files", { "aria-label": "What can be taken away" }, h("ul.plain", {}, rows.slice(0, MAIN).map(item)),
    rest.length ? h("details", { open: state.more || rest.some((one) => one.name === state.name), ontoggle: (event) => { state.more = event.target.open; } }, h("summary", { "data-focus": "more-files" }, `${rest.length} more, for spreadsheets and web pages`), h("ul.plain", {}, rest.map(item))) : null,
    stills ? h("p.hint", {}, `${count(stills, "picture")} in the folder “stills”`) : null);
}

function preview(folio) {
  if (!state.name) return h("p.hint", {}, "Nothing yet.");
  const path = `/folio/${folio.id}/out/${state.name}`;
  const isPage = state.name.endsWith(".html");
  const body = isPage ? h("iframe", { src: `${path}?${encodeURIComponent(folio.version)}-${folio.fresh}`, title: `How ${state.name} looks`, sandbox: "allow-same-origin" }) : h("div.blocks", {}, blocks(state.name, state.shown ?? "…"));
  return h("section.sheet.preview", { "aria-label": `How ${state.name} looks` },
    h("div.row", {}, h("button", { "data-focus": "copy-all", onclick: () => copy(isPage ? null : state.shown, path) }, "Copy all of it"), h("a.button", { href: path, download: state.name, "data-focus": "download" }, "Save this file")), checked(), body);
}

/** What the caption rules find in the captions. */
function checked() {
  if (!state.breaches) return null;
  if (!state.breaches.length) return h("p.flag.done", {}, "The captions keep to every rule.");
  return h("details", {}, h("summary", { "data-focus": "breaches" }, h("span.flag.ask", {}, `${count(state.breaches.length, "place")} where a caption rule is not kept`)), h("ul.plain", {}, state.breaches.map((one) => h("li", {}, `${one.at} ${one.message}`))));
}

function blocks(name, whole) {
  if (!/\.(txt|md)$/.test(name)) return [h("pre", { tabindex: 0, "aria-label": name }, whole)];
  return whole.split(/\n{2,}/).filter((part) => part.trim()).map((part, place) => h("div.block", {}, h("pre", {}, part), h("button.quiet", { "data-focus": `copy-${place}`, "aria-label": `Copy: ${part.slice(0, 40)}`, onclick: () => copy(part) }, "Copy")));
}

async function copy(part, path) {
  try {
    await navigator.clipboard.writeText(part ?? await text(path));
    say("Copied.");
  } catch {
    notice("The browser did not allow copying. Mark the text and copy it by hand.", "ask");
  }
}

async function withChapters() {
  const path = `/api/folio/${store.folio.id}/with-chapters`;
  try {
    let told = await post(path);
    say("The copy is being made.");
    while (["waiting", "running"].includes(told.state)) {
      await new Promise((done) => setTimeout(done, 500));
      told = await get(path);
    }
    notice(told.state === "done" ? "The copy lies in the folder as “with-chapters”." : told.problem, told.state === "done" ? "note" : "error");
  } catch (trouble) {
    notice(trouble.message, "error");
  }
}

async function openFolder() {
  try {
    const told = await post(`/api/folio/${store.folio.id}/open`);
    notice(told.opened ? "" : `The folder is ${told.folder}`);
  } catch (trouble) {
    notice(trouble.message, "error");
  }
}

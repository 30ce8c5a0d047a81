// Start: a recording and a catalogue are laid on the desk, and the work begins.

import { get, post, send } from "./api.js";
import { bytes, count, h, notice, say } from "./dom.js";

const state = { shelf: null, recording: "", catalogue: null, day: "", checked: null, sending: null, run: null, stale: null };
let box = null;
let again = null;
let spoken = 0;

/** Draw the first step. */
export function start(view, redraw) {
  box = view;
  again = redraw;
  if (state.shelf) draw();
  else view.replaceChildren(h("p.wait", {}, "Looking into the folder …"));
  load().catch((trouble) => notice(trouble.message, "error"));
}

async function load() {
  state.shelf = await get("/api/shelf");
  const { kept, catalogue, recording, run } = state.shelf;
  if (state.catalogue === null) state.catalogue = catalogue.some((one) => one.id === kept.catalogue) ? kept.catalogue : "";
  if (!recording.some((one) => one.id === state.recording)) state.recording = "";
  if (run && state.run?.folio !== run.folio) follow(run);
  draw();
  if (state.catalogue && !state.checked) check(state.catalogue);
}

function draw() {
  if (!box.isConnected || !window.location.hash.match(/^(#\/start|#?$|)/) || (window.location.hash && !window.location.hash.startsWith("#/start"))) return;
  const key = document.activeElement?.dataset?.focus;
  box.replaceChildren(h("div.start", {}, h("h1", { tabindex: -1, "data-first": true }, "What is on the desk today?"), running(), h("div.two", {}, laid(), h("div", {}, folios(), old()))));
  if (key) document.querySelector(`[data-focus="${CSS.escape(key)}"]`)?.focus({ preventScroll: true });
}

function laid() {
  return h("section.sheet", { "aria-labelledby": "new" }, h("h2", { id: "new" }, "A new recording"),
    h("ol.steps", {},
      h("li", {}, h("h3", {}, "The recording"), drop("recording", "Drop the recording here", "or choose a file", ".mp4,.mov,.m4v,.mkv,.webm,.avi,.mts,.mp3,.m4a,.wav,.vtt,.srt"), picker("recording", "Or one that is in the folder already")),
      h("li", {}, h("h3", {}, "Your catalogue"), picker("catalogue", "The list of your products"), drop("catalogue", "Drop another catalogue here", "or choose a CSV, .xlsx or .ods file", ".csv,.tsv,.xlsx,.ods"), complaints()),
      h("li", {}, h("h3", {}, "The day of the recording"), day()),
    ),
    h("div.row", {}, h("button.main", { "data-focus": "make", onclick: make, disabled: busy() }, "Make it"),
      h("button", { "data-focus": "sample", onclick: sample, disabled: busy() }, "Try it with the sample")),
    h("p.hint", {}, "Everything stays on this machine. You can close this page while the work goes on."));
}

const busy = () => Boolean(state.run && ["running", "waiting"].includes(state.run.state));

function drop(kind, told, more, accept) {
  const input = h("input.unseen", { type: "file", accept, "data-focus": `file-${kind}`, "aria-label": `${told}, ${more}`, onchange: () => input.files[0] && take(kind, input.files[0]) });
  const area = h("label.drop", {}, input, h("strong", {}, told), h("span", {}, more));
  const over = (event) => { event.preventDefault(); area.classList.add("over"); };
  area.addEventListener("dragover", over);
  area.addEventListener("dragleave", () => area.classList.remove("over"));
  area.addEventListener("drop", (event) => {
    event.preventDefault();
    area.classList.remove("over");
    if (event.dataTransfer.files[0]) take(kind, event.dataTransfer.files[0]);
  });
  const part = state.sending?.kind === kind ? h("div", {}, h("progress", { max: 100, value: Math.round(state.sending.part * 100), "aria-label": "Copying the file" }), h("p.hint", {}, `Copying ${state.sending.name} …`)) : null;
  return h("div", {}, area, part);
}

async function take(kind, file) {
  state.sending = { kind, name: file.name, part: 0 };
  draw();
  try {
    const told = await send(kind, file, (part) => {
      state.sending = { kind, name: file.name, part };
      const bar = box.querySelector("progress[aria-label='Copying the file']");
      if (bar) bar.value = Math.round(part * 100);
    });
    state[kind] = told.id;
    say(`${told.name} is in the folder.`);
  } catch (trouble) {
    notice(trouble.message, "error");
  }
  state.sending = null;
  if (kind === "catalogue") state.checked = null;
  await load();
}

function picker(kind, label) {
  const things = state.shelf[kind];
  if (!things.length) return null;
  const none = kind === "recording" ? "Choose …" : "No catalogue: sizes and chapters only";
  const change = (event) => {
    state[kind] = event.target.value;
    if (kind === "catalogue") { state.checked = null; check(state.catalogue); }
  };
  const options = [h("option", { value: "", selected: !state[kind] }, none), ...things.map((one) => h("option", { value: one.id, selected: one.id === state[kind] }, `${one.name} (${bytes(one.size)})`))];
  const id = `pick-${kind}`;
  return h("div.field", {}, h("label", { for: id }, label), h("select", { id, "data-focus": id, onchange: change }, options));
}

function day() {
  const input = h("input", { type: "date", id: "day", value: state.day, "data-focus": "day", "aria-describedby": "day-hint", onchange: () => { state.day = input.value; } });
  return h("div.field", {}, h("label", { for: "day" }, "Recorded on"), input, h("span.hint", { id: "day-hint" }, "So that “until Friday” becomes a date. Leave it empty if the file knows it."));
}

async function check(id) {
  if (!id) { state.checked = null; draw(); return; }
  try {
    state.checked = await post("/api/check", { catalogue: id });
    const { products, count: wrong } = state.checked;
    say(`${count(products, "product")} in the catalogue, ${count(wrong, "complaint")}.`);
  } catch (trouble) {
    state.checked = { error: trouble.message };
  }
  draw();
}

function complaints() {
  const found = state.checked;
  if (!found) return null;
  if (found.error) return h("p.flag.error", {}, found.error);
  if (!found.count) return h("p.flag.done", {}, `${count(found.products, "product")} read, nothing to complain of.`);
  const rows = found.complaints.map((one) => h("tr", {}, h("td.num", {}, String(one.row)), h("td", {}, one.column), h("td", {}, one.problem), h("td", {}, one.remedy)));
  return h("details.complaints", { open: found.count < 6 }, h("summary", { "data-focus": "complaints" }, h("span.flag.ask", {}, `${count(found.products, "product")} can be used; ${count(found.count, "row")} to look at`)),
    h("div.wide", { tabindex: 0, role: "region", "aria-label": "Complaints" }, h("table", {}, h("thead", {}, h("tr", {}, ...["row", "column", "what is wrong", "what to do"].map((name) => h("th", { scope: "col" }, name)))), h("tbody", {}, rows))));
}

async function make() {
  if (!state.recording) { notice("Choose a recording first: drop one, or take one from the list.", "ask"); return; }
  await begin(() => post("/api/make", { recording: state.recording, catalogue: state.catalogue || null, recorded_on: state.day || null }));
}

const sample = () => begin(() => post("/api/sample"));

async function begin(ask) {
  try {
    notice("");
    follow(await ask());
  } catch (trouble) {
    notice(trouble.message, "error");
  }
}

async function follow(run) {
  state.run = run;
  draw();
  while (state.run && ["running", "waiting"].includes(state.run.state)) {
    await new Promise((done) => setTimeout(done, 500));
    const before = state.run.state;
    try {
      state.run = await get(`/api/run/${run.folio}`);
    } catch (trouble) {
      notice(trouble.message, "error");
      return;
    }
    if (state.run?.state === before) progress();
    else draw();
  }
  if (state.run?.state === "done") say("The folio is made.");
  await load().catch((trouble) => notice(trouble.message, "error"));
}

function progress() {
  const words = document.getElementById("run-words");
  if (!words) return;
  words.textContent = state.run.words;
  const bar = document.getElementById("run-bar");
  if (state.run.total > 0) bar.value = state.run.done / state.run.total;
  else bar.removeAttribute("value");
  if (Date.now() - spoken > 15000) { spoken = Date.now(); say(state.run.words); }
}

function running() {
  const { run } = state;
  if (!run) return null;
  const title = { waiting: "Next", running: "At work", done: "Made", stopped: "Stopped", failed: "Not made" }[run.state];
  const live = busy();
  const bar = live ? h("progress", { id: "run-bar", max: 1, "aria-label": "How far it is" }) : null;
  return h("section.sheet.run", { "aria-label": "The work" }, h("h2", {}, `${title}: ${run.name}`),
    run.problem ? h("p.flag.error", {}, `${run.problem} ${run.remedy}`) : h("p", { id: "run-words" }, run.state === "stopped" ? "What was heard so far is kept. Make it again to go on from there." : run.words), bar,
    h("div.row", {}, live ? h("button", { "data-focus": "stop", onclick: () => stop(run) }, "Stop") : null,
      run.state === "done" ? h("a.button.main", { href: `#/${run.folio}/settle`, "data-focus": "open" }, "Settle what is open") : null));
}

async function stop(run) {
  try {
    state.run = await post(`/api/run/${run.folio}/stop`);
    say("Stopped. What was heard is kept.");
    draw();
  } catch (trouble) {
    notice(trouble.message, "error");
  }
}

function folios() {
  const rows = state.shelf.folio.map((one) => h("li", {}, h("a", { href: `#/${one.id}/settle`, "data-focus": `folio-${one.id}` }, one.name), h("span.hint", {}, ` ${new Date(one.changed * 1000).toLocaleString([], { dateStyle: "medium", timeStyle: "short" })}`)));
  return h("section.sheet", { "aria-labelledby": "made" }, h("h2", { id: "made" }, "Made already"), rows.length ? h("ul.plain", {}, rows) : h("p.hint", {}, `Nothing yet in the folder “${state.shelf.folder}”.`));
}

function old() {
  if (!state.shelf.folio.length || !state.catalogue) return null;
  const rows = state.stale?.map((one) => h("tr", {}, h("td", {}, one.code), h("td", {}, one.name), h("td", {}, one.why), h("td", {}, one.substitute), h("td", {}, h("a", { href: `#/${one.folio}/table` }, `${one.source} at ${one.at}`))));
  const look = async () => {
    try {
      state.stale = await get(`/api/retired?catalogue=${state.catalogue}`);
      say(count(state.stale.length, "item"));
      draw();
    } catch (trouble) { notice(trouble.message, "error"); }
  };
  return h("section.sheet", { "aria-labelledby": "old" }, h("h2", { id: "old" }, "Older posts"), h("p", {}, "Which of them show something that this catalogue no longer sells?"),
    h("button", { "data-focus": "retired", onclick: look }, "Look through them"),
    state.stale ? (rows.length ? h("div.wide", { tabindex: 0, role: "region", "aria-label": "No longer sold" }, h("table", {}, h("thead", {}, h("tr", {}, ...["code", "item", "why", "instead", "where"].map((name) => h("th", { scope: "col" }, name)))), h("tbody", {}, rows))) : h("p.flag.done", {}, "None. Everything shown is still sold.")) : null);
}

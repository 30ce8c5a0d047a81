// The folio on the page: read, decided upon, read again when the desk has written it anew.

import { get, post, Trouble } from "./api.js";
import { h, notice, say } from "./dom.js";

export const store = { folio: null, talk: null, playable: "none" };
const listeners = new Set();
const seen = new Map();
let watching = 0;
let turn = 0;
let line = Promise.resolve(true);
let lastInLine = null;

/** Be told when the folio has changed. */
export function listen(listener) {
  listeners.clear();
  listeners.add(listener);
}

const changed = () => listeners.forEach((listener) => listener());

/** Show what the desk told of a folio, where it is still the one on the page. */
function put(folio, talk) {
  turn += 1;
  seen.set(folio.id, folio.version);
  if (store.folio?.id !== folio.id) return;
  Object.assign(store, talk ? { folio, talk } : { folio });
  changed();
  watch();
}

/** Open a folio. */
export async function open(id) {
  if (store.folio?.id === id) return;
  const [folio, talk] = await Promise.all([get(`/api/folio/${id}`), get(`/api/folio/${id}/talk`)]);
  Object.assign(store, { folio, talk, playable: "none" });
  seen.set(id, folio.version);
  watch();
}

/** Read the folio again; what was read before a decision was taken is not shown after it. */
export async function refresh() {
  const { id } = store.folio;
  const began = turn;
  const [folio, talk] = await Promise.all([get(`/api/folio/${id}`), get(`/api/folio/${id}/talk`)]);
  if (store.folio?.id !== id) return;
  if (began === turn) put(folio, talk);
  else await refresh();
}

/** Wait until the desk has written everything anew, then read it. */
async function watch() {
  if (store.folio.fresh || watching) return;
  const { id } = store.folio;
  watching = id;
  const done = await written(id).catch((trouble) => notice(trouble.message, "error"));
  watching = 0;
  if (store.folio?.id !== id) store.folio && watch();
  else if (done) await refresh().catch((trouble) => notice(trouble.message, "error"));
}

/** Wait until the files hold every decision; tells false where that is not to be. */
async function written(id) {
  for (let wait = 250; ; wait = Math.min(2000, wait * 1.2)) {
    await new Promise((done) => setTimeout(done, wait));
    if (store.folio?.id !== id) return false;
    const told = await get(`/api/folio/${id}/state`);
    if (told.fresh) return true;
    if (!told.trouble) continue;
    notice(`Your decisions are kept, but the files could not be written anew. ${told.trouble}`, "error");
    return false;
  }
}

/**
 * Decide something; returns whether it stands. Decisions go to the desk one after the other, each with what this page
 * has seen by then; the same one twice in a row, from a key pressed twice, is one. An edit may be a function that gives
 * it when its turn comes, or nothing.
 */
export function decide(edit, told) {
  const mine = { id: store.folio.id, key: typeof edit === "function" ? edit : JSON.stringify(edit) };
  if (lastInLine?.key === mine.key && lastInLine.id === mine.id) return line;
  lastInLine = mine;
  line = line.then(() => send(mine.id, edit, told)).finally(() => { if (lastInLine === mine) lastInLine = null; });
  return line;
}

async function send(id, given, told) {
  if (typeof given === "function" && store.folio?.id !== id) return false;
  const edit = typeof given === "function" ? given() : given;
  if (!edit) return false;
  try {
    const folio = await post(`/api/folio/${id}/edits`, edit, { "if-match": `"${seen.get(id)}"` });
    put(folio, ["word_corrected", "undo"].includes(edit.kind) ? await get(`/api/folio/${id}/talk`) : null);
    say((typeof told === "function" ? told() : told) ?? "Noted.");
    return true;
  } catch (trouble) {
    if (trouble instanceof Trouble && trouble.status === 409) conflict(edit, trouble.told);
    else notice(trouble.message, "error");
    return false;
  }
}

function conflict(edit, folio) {
  put(folio);
  const mine = h("button", { onclick: async () => { if (await decide({ ...edit, id: undefined }, "Yours stands now.")) notice(""); } }, "Use mine");
  notice("This was decided in another window in the meantime. That answer stands; yours is kept in the history.", "ask", mine);
}

/** Take a decision back: the one given, or the last one that stands when its turn comes. */
export function undo(target) {
  const last = () => {
    const { last: decided } = store.folio;
    if (!decided) say("There is nothing to take back.");
    return decided && { kind: "undo", target: decided.id };
  };
  return decide(target ? { kind: "undo", target } : last, "Taken back.");
}

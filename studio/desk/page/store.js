// The folio on the page: read, decided upon, read again when the desk has written it anew.

import { get, post, Trouble } from "./api.js";
import { h, notice, say } from "./dom.js";

export const store = { folio: null, talk: null, playable: "none", last: null };
const listeners = new Set();
let watching = 0;

/** Be told when the folio has changed. */
export function listen(listener) {
  listeners.clear();
  listeners.add(listener);
}

const changed = () => listeners.forEach((listener) => listener());

/** Open a folio. */
export async function open(id) {
  if (store.folio?.id === id) return;
  const [folio, talk] = await Promise.all([get(`/api/folio/${id}`), get(`/api/folio/${id}/talk`)]);
  Object.assign(store, { folio, talk, playable: "none", last: null });
  watch();
}

/** Read the folio again. */
export async function refresh() {
  const { id } = store.folio;
  const [folio, talk] = await Promise.all([get(`/api/folio/${id}`), get(`/api/folio/${id}/talk`)]);
  if (store.folio?.id !== id) return;
  Object.assign(store, { folio, talk });
  changed();
}

/** Wait until the desk has written everything anew, then read it. */
async function watch() {
  if (store.folio.fresh || watching) return;
  const { id } = store.folio;
  watching = id;
  try {
    for (let wait = 250; ; wait = Math.min(2000, wait * 1.2)) {
      await new Promise((done) => setTimeout(done, wait));
      if (store.folio?.id !== id) return;
      const told = await get(`/api/folio/${id}/state`);
      if (told.trouble) {
        notice(`Your decisions are kept, but the files could not be written anew. ${told.trouble}`, "error");
        return;
      }
      if (told.fresh) break;
    }
    await refresh();
  } catch (trouble) {
    notice(trouble.message, "error");
  } finally {
    watching = 0;
    if (store.folio?.id === id && !store.folio.fresh) watch();
  }
}

/** Decide something; returns whether it stands. */
export async function decide(edit, told) {
  const { id, version } = store.folio;
  try {
    await take(id, version, edit);
    say(told ?? "Noted.");
    return true;
  } catch (trouble) {
    if (trouble instanceof Trouble && trouble.status === 409) conflict(id, edit, trouble.told);
    else notice(trouble.message, "error");
    return false;
  }
}

async function take(id, version, edit) {
  const folio = await post(`/api/folio/${id}/edits`, edit, { "if-match": `"${version}"` });
  store.folio = folio;
  if (edit.kind !== "undo") store.last = folio.written;
  if (["word_corrected", "undo"].includes(edit.kind)) store.talk = await get(`/api/folio/${id}/talk`);
  changed();
  watch();
}

function conflict(id, edit, folio) {
  store.folio = folio;
  changed();
  watch();
  const mine = h("button", { onclick: async () => { if (await decide({ ...edit, id: undefined }, "Yours stands now.")) notice(""); } }, "Use mine");
  notice("This was decided in another window in the meantime. That answer stands; yours is kept in the history.", "ask", mine);
}

/** Take the last decision back. */
export async function undo(target = store.last) {
  if (!target) return say("There is nothing to take back.");
  if (await decide({ kind: "undo", target }, "Taken back.")) store.last = null;
  return null;
}

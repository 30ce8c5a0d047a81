// The ruler under the recording: where each chapter begins; a mark is moved by dragging or with the arrow keys.

import { clock, h, say } from "./dom.js";
import { decide, store } from "./store.js";

/** Draw the ruler; marks snap to the beginnings of sentences, and none passes the marks beside it. */
export function ruler(play) {
  const whole = Math.max(1, store.folio.duration_ms);
  const marks = store.folio.chapters.map((chapter, place) => mark(chapter, place, whole, play));
  const table = h("div.ruler", { role: "group", "aria-label": "Where the chapters begin" }, h("div.rule", { "aria-hidden": "true" }), marks);
  return h("div", {}, table, h("p.hint", {}, "Drag a mark, or use the arrow keys, to move where a chapter begins."));
}

const told = (title, ms) => `${title}, begins at ${clock(ms)}`;

/** Where a chapter may begin: at the sentences between the chapter before it and the one behind it. */
function room(place) {
  const { chapters } = store.folio;
  const [from, to] = [chapters[place - 1].start_ms, chapters[place + 1]?.start_ms ?? Infinity];
  return store.talk.map(([start]) => start).filter((ms) => ms > from && ms < to);
}

/** Move a chapter when its turn comes, to where `choose` puts it from where it stands by then. */
function move(place, title, choose) {
  const edit = () => {
    const chapter = store.folio.chapters[place];
    if (chapter?.title !== title) return null;
    const to = choose(chapter.start_ms, room(place));
    if (to === undefined) say("It cannot pass the chapter beside it.");
    return to === undefined || to === chapter.start_ms ? null : { kind: "chapter_moved", start_ms: chapter.start_ms, title, to_ms: to };
  };
  return decide(edit, () => told(title, store.folio.chapters[place]?.start_ms ?? 0));
}

function mark(chapter, place, whole, play) {
  const left = (ms) => `${(100 * ms) / whole}%`;
  const fixed = place === 0;
  const [least, most] = fixed ? [0, 0] : [store.folio.chapters[place - 1].start_ms, store.folio.chapters[place + 1]?.start_ms ?? whole];
  const handle = h(`button.mark${fixed ? ".fixed" : ""}`, {
    type: "button", role: "slider", "aria-label": `Begin of ${chapter.title}`, "aria-valuemin": least, "aria-valuemax": most, "aria-valuenow": chapter.start_ms,
    "aria-valuetext": clock(chapter.start_ms), "aria-disabled": fixed ? "true" : null, "data-focus": `mark-${place}`, title: told(chapter.title, chapter.start_ms), onclick: () => play(chapter.start_ms),
  }, h("span", { "aria-hidden": "true" }, String(place + 1)));
  handle.style.left = left(chapter.start_ms);
  if (fixed) return handle;
  handle.addEventListener("keydown", (event) => {
    const by = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1 }[event.key];
    if (!by) return;
    event.preventDefault();
    move(place, chapter.title, (now, starts) => (by > 0 ? starts.find((ms) => ms > now) : starts.findLast((ms) => ms < now)));
  });
  handle.addEventListener("pointerdown", (event) => {
    const box = handle.parentElement.getBoundingClientRect();
    const starts = room(place);
    let at = null;
    handle.setPointerCapture(event.pointerId);
    const drag = (moved) => {
      const ms = Math.min(1, Math.max(0, (moved.clientX - box.left) / box.width)) * whole;
      if (at === null && Math.abs(moved.clientX - event.clientX) < 4) return;
      at = starts.reduce((best, one) => (Math.abs(one - ms) < Math.abs(best - ms) ? one : best), chapter.start_ms);
      handle.style.left = left(at);
      handle.title = told(chapter.title, at);
    };
    handle.addEventListener("pointermove", drag);
    handle.addEventListener("pointerup", () => {
      handle.removeEventListener("pointermove", drag);
      if (at !== null) move(place, chapter.title, () => at);
    }, { once: true });
  });
  return handle;
}

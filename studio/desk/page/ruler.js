// The ruler under the recording: where each chapter begins; a mark is moved by dragging or with the arrow keys.

import { clock, h } from "./dom.js";
import { decide, store } from "./store.js";

/** Draw the ruler; marks snap to the beginnings of sentences. */
export function ruler(play) {
  const { folio, talk } = store;
  const whole = Math.max(1, folio.duration_ms);
  const starts = talk.map(([start]) => start);
  const marks = folio.chapters.map((chapter, place) => mark(chapter, place, whole, starts, play));
  const table = h("div.ruler", { role: "group", "aria-label": "Where the chapters begin" }, h("div.rule", { "aria-hidden": "true" }), marks);
  return h("div", {}, table, h("p.hint", {}, "Drag a mark, or use the arrow keys, to move where a chapter begins."));
}

function mark(chapter, place, whole, starts, play) {
  const left = (ms) => `${(100 * ms) / whole}%`;
  const text = (ms) => `${chapter.title}, begins at ${clock(ms)}`;
  const move = (ms) => ms !== chapter.start_ms && decide({ kind: "chapter_moved", start_ms: chapter.start_ms, title: chapter.title, to_ms: ms }, text(ms));
  const fixed = place === 0;
  const handle = h(`button.mark${fixed ? ".fixed" : ""}`, {
    type: "button", role: "slider", "aria-label": `Begin of ${chapter.title}`, "aria-valuemin": 0, "aria-valuemax": whole, "aria-valuenow": chapter.start_ms,
    "aria-valuetext": clock(chapter.start_ms), "aria-disabled": fixed ? "true" : null, "data-focus": `mark-${place}`, title: text(chapter.start_ms), onclick: () => play(chapter.start_ms),
  }, h("span", { "aria-hidden": "true" }, String(place + 1)));
  handle.style.left = left(chapter.start_ms);
  if (fixed) return handle;
  handle.addEventListener("keydown", (event) => {
    const by = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1 }[event.key];
    if (!by) return;
    event.preventDefault();
    const at = by > 0 ? starts.find((ms) => ms > chapter.start_ms) : starts.findLast((ms) => ms < chapter.start_ms);
    if (at) move(at);
  });
  handle.addEventListener("pointerdown", (event) => {
    const box = handle.parentElement.getBoundingClientRect();
    let at = null;
    handle.setPointerCapture(event.pointerId);
    const drag = (moved) => {
      const ms = Math.min(1, Math.max(0, (moved.clientX - box.left) / box.width)) * whole;
      if (at === null && Math.abs(moved.clientX - event.clientX) < 4) return;
      at = starts.reduce((best, one) => (Math.abs(one - ms) < Math.abs(best - ms) ? one : best), chapter.start_ms);
      handle.style.left = left(at);
      handle.title = text(at);
    };
    handle.addEventListener("pointermove", drag);
    handle.addEventListener("pointerup", () => {
      handle.removeEventListener("pointermove", drag);
      if (at) move(at);
    }, { once: true });
  });
  return handle;
}

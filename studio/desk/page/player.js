// The recording on the page: one player, handed from view to view; it plays the seconds behind a fact.

import { get } from "./api.js";
import { clock, h, say } from "./dom.js";
import { store } from "./store.js";

const video = h("video", { controls: true, preload: "metadata", playsinline: true, "data-focus": "video" });
const place = h("div.player");
let until = null;
let of = null;
let state = "none";
const told = h("p.hint");

video.addEventListener("timeupdate", () => {
  if (until !== null && video.currentTime >= until) {
    video.pause();
    until = null;
  }
});

const TOLD = {
  none: "There is no recording to play here: the folio was made from captions, or the recording was moved.",
  looking: "Looking whether your browser can play this recording …",
  making: "A small copy that your browser can play is being made. You can go on meanwhile.",
  failed: "This recording cannot be played here. Everything else works.",
};

async function look(id) {
  state = (await get(`/api/folio/${id}/playable`)).state;
  if (store.folio?.id !== id) return;
  store.playable = state;
  show(id);
  if (state === "making") setTimeout(() => store.folio?.id === id && look(id).catch(() => {}), 1500);
}

function show(id) {
  const plays = state === "plays" || state === "copy";
  told.textContent = plays ? "" : TOLD[state];
  place.replaceChildren(...(plays ? [video] : [told]));
  if (!plays) return;
  const source = `/folio/${id}/recording`;
  if (video.getAttribute("src") !== source || of !== state) {
    video.src = source;
    video.setAttribute("aria-label", `The recording ${store.folio.source}`);
    video.classList.toggle("sound", !store.folio.has_picture);
    of = state;
  }
}

/** Return the player for the folio that is open. */
export function player() {
  const { id } = store.folio;
  if (place.dataset.id !== id) {
    place.dataset.id = id;
    [state, of] = ["looking", null];
    show(id);
    look(id).catch(() => {});
  }
  return place;
}

/** Play from a time; with an end, stop there. */
export function play(startMs, endMs = null) {
  if (!video.isConnected) return say("There is no recording to play.");
  video.currentTime = startMs / 1000;
  until = endMs === null ? null : endMs / 1000;
  video.play().catch(() => {});
  return say(`Playing from ${clock(startMs)}.`);
}

/** Play the five seconds around a moment. */
export const moment = (anchor) => play(Math.max(0, anchor.start_ms - 1500), Math.max(anchor.end_ms + 1000, anchor.start_ms + 3500));

/** Stop, or go on. */
export const toggle = () => (video.paused ? video.play().catch(() => {}) : video.pause());

/** Call with the time whenever it moves on. */
export const follow = (listener) => { video.ontimeupdate = () => listener(video.currentTime * 1000); };

/** The time at which the player stands. */
export const now = () => Math.round(video.currentTime * 1000);

// The talk: every sentence under its chapter; a word is clicked to hear it, and corrected once or everywhere.

import { clock, field, h, say } from "./dom.js";
import { play } from "./player.js";
import { decide, store } from "./store.js";

const state = { folio: "", sentence: -1, word: -1, part: -1 };
let again = null;

/** Draw the talk. */
export function talk(redraw) {
  again = redraw;
  const { folio, talk: said } = store;
  if (state.folio !== folio.id) Object.assign(state, { folio: folio.id, sentence: -1, word: -1, part: -1 });
  const box = h("div.talk", { onclick: pick, onkeydown: keys });
  let part = -1;
  let into = box;
  said.forEach((sentence, place) => {
    while (folio.chapters[part + 1] && folio.chapters[part + 1].start_ms <= sentence[0]) {
      part += 1;
      into = h("section.part", { "aria-label": folio.chapters[part].title }, chapterHead(folio.chapters[part], part));
      into.style.containIntrinsicSize = "auto 900px";
      box.append(into);
    }
    into.append(line(sentence, place));
  });
  if (!said.length) box.append(h("p", {}, "No speech was found in this recording."));
  return h("div.talkbox", {}, slip(), box);
}

function line([start, end, text], place) {
  const chosen = place === state.sentence;
  return h(`p.said${chosen ? ".chosen" : ""}`, { "data-place": place, tabindex: place === Math.max(0, state.sentence) ? 0 : -1, "data-focus": `said-${place}` },
    h("span.at", {}, clock(start)), h("span.text", {}, chosen && state.word >= 0 ? words(text) : text), tags(start, end));
}

/** The items that were named in a sentence, by their codes. */
function tags(start, end) {
  const named = store.folio.mentions.filter(([from, , , code, role]) => code && role === "shown" && from >= start && from < end);
  return [...new Set(named.map(([, , , code]) => code))].map((code) => h("span.code.tag", {}, code));
}

function words(text) {
  const parts = text.split(" ");
  return [parts.slice(0, state.word).join(" "), state.word ? " " : "", h("mark", {}, parts[state.word]), state.word < parts.length - 1 ? " " : "", parts.slice(state.word + 1).join(" ")];
}

function chapterHead(chapter, part) {
  const asked = state.part === part;
  const title = h("input", { id: `title-${part}`, "data-focus": `title-${part}`, value: chapter.title, maxlength: 200 });
  const named = (event) => {
    event.preventDefault();
    state.part = -1;
    if (title.value.trim() && title.value !== chapter.title) decide({ kind: "chapter_renamed", start_ms: chapter.start_ms, title: title.value.trim() }, "Renamed.");
    else again();
  };
  return h("header.parthead", {}, h("span.at", {}, clock(chapter.start_ms)),
    asked ? h("form.row", { onsubmit: named }, h("label.unseen", { for: title.id }, "Title of the chapter"), title, h("button.main", { "data-focus": `name-${part}` }, "Use this name"))
      : h("h2", {}, chapter.title),
    asked ? null : h("div.row", {},
      h("button.quiet", { "data-focus": `rename-${part}`, "aria-label": `Rename ${chapter.title}`, onclick: () => { state.part = part; again(); document.getElementById(`title-${part}`)?.select(); } }, "Rename"),
      part ? h("button.quiet", { "data-focus": `join-${part}`, "aria-label": `Join ${chapter.title} to the chapter before`, onclick: () => decide({ kind: "chapter_merged", start_ms: chapter.start_ms, title: chapter.title }, "Joined.") }, "Join to the one before") : null));
}

// --- one word -------------------------------------------------------------------------------------------------------

function chosen() {
  const sentence = store.talk[state.sentence];
  if (!sentence || state.word < 0) return null;
  const parts = sentence[2].split(" ");
  const word = Math.min(state.word, parts.length - 1);
  return { text: parts[word], start_ms: sentence[3][word] ?? sentence[0], end_ms: sentence[4][word] ?? sentence[1], sentence };
}

function slip() {
  const found = chosen();
  if (!found) return h("div.slip.sheet", {}, h("p.hint", {}, "Click a word to hear it and to mend it. With the keyboard: Tab to a sentence, then the arrow keys, Enter to hear."));
  const bare = found.text.replace(/^[^\p{L}\p{N}]+|[^\p{L}\p{N}]+$/gu, "") || found.text;
  const input = h("input", { id: "mend", "data-focus": "mend", value: bare, autocomplete: "off", maxlength: 200 });
  const mend = (everywhere) => {
    if (input.value.trim() === bare) { say("It is spelt like this already."); return; }
    decide({ kind: "word_corrected", anchor: { start_ms: found.start_ms, end_ms: found.end_ms, heard: bare }, shown: input.value.trim(), everywhere }, everywhere ? "Mended everywhere." : "Mended here.");
  };
  const split = () => decide({ kind: "chapter_split", start_ms: found.sentence[0], title: title(found.sentence[2]) }, "A new chapter begins here.");
  return h("form.slip.sheet.row", { onsubmit: (event) => { event.preventDefault(); mend(false); }, "aria-label": "Mend a word" },
    field(`Heard: “${bare}”`, input),
    h("div.row", {}, h("button.main", { "data-focus": "mend-here" }, "Mend it here"),
      h("button", { type: "button", "data-focus": "mend-all", onclick: () => mend(true) }, "Mend it everywhere"),
      h("button", { type: "button", "data-focus": "split", onclick: split }, "A new chapter begins here"),
      h("button", { type: "button", "data-focus": "strike", onclick: () => decide({ kind: "sentence_struck", anchor: { start_ms: found.sentence[0], end_ms: found.sentence[1], heard: found.sentence[2] } }, "Left out of the post.") }, "Leave this sentence out")));
}

const title = (text) => text.split(" ").slice(0, 6).join(" ").replace(/[.,;:!?]+$/, "");

function pick(event) {
  const row = event.target.closest(".said");
  if (!row || event.target.closest("button, input")) return;
  const place = Number(row.dataset.place);
  choose(place, wordAt(row, event), true);
}

function wordAt(row, event) {
  const text = row.querySelector(".text");
  const spot = document.caretPositionFromPoint?.(event.clientX, event.clientY);
  const range = spot ? { node: spot.offsetNode, offset: spot.offset } : fromRange(document.caretRangeFromPoint?.(event.clientX, event.clientY));
  if (!range || !text.contains(range.node)) return 0;
  let before = range.offset;
  const walker = document.createTreeWalker(text, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node && node !== range.node; node = walker.nextNode()) before += node.data.length;
  return text.textContent.slice(0, before).split(" ").length - 1;
}

const fromRange = (range) => range && { node: range.startContainer, offset: range.startOffset };

function choose(place, word, aloud) {
  Object.assign(state, { sentence: place, word });
  again();
  document.querySelector(`[data-focus="said-${place}"]`)?.focus({ preventScroll: true });
  const found = chosen();
  if (aloud && found) play(found.start_ms);
}

function keys(event) {
  const row = event.target.closest(".said");
  if (!row || event.target !== row) return;
  const place = Number(row.dataset.place);
  const count = store.talk[place][2].split(" ").length;
  const word = place === state.sentence ? state.word : -1;
  if (event.key === "ArrowDown" && store.talk[place + 1]) choose(place + 1, 0, false);
  else if (event.key === "ArrowUp" && place > 0) choose(place - 1, 0, false);
  else if (event.key === "ArrowRight") choose(place, Math.min(count - 1, word + 1), false);
  else if (event.key === "ArrowLeft") choose(place, Math.max(0, word - 1), false);
  else if (event.key === "Enter") choose(place, Math.max(0, word), true);
  else return;
  event.preventDefault();
  document.querySelector(`[data-focus="said-${state.sentence}"]`)?.scrollIntoView({ block: "nearest" });
}

// The page: its five steps, and which one is shown.

import { count, h, notice, redrawn, tally } from "./dom.js";
import { listen, open, store } from "./store.js";
import { start } from "./start.js";
import { settle } from "./settle.js";
import { table } from "./table.js";
import { take } from "./take.js";
import { ask } from "./ask.js";

const STEPS = [["start", "Start"], ["settle", "Settle"], ["table", "Table"], ["take", "Take away"], ["ask", "Ask"]];
const VIEWS = { settle, table, take, ask };
const head = document.getElementById("head");
const view = document.getElementById("view");
let shown = null;

function where() {
  const [, first = "start", second] = window.location.hash.split("/");
  return first === "start" || !second || !VIEWS[second] ? { step: "start" } : { id: first, step: second };
}

function drawHead(step) {
  const { folio } = store;
  const open = folio ? folio.questions.length : 0;
  const links = STEPS.map(([name, told]) => {
    const away = name !== "start" && !folio;
    const href = name === "start" ? "#/start" : `#/${folio?.id}/${name}`;
    const badge = name === "settle" && folio ? h("span.badge", {}, open ? tally(open) : "", h("span", {}, open ? count(open, "question") : "all settled")) : null;
    return h("li", {}, away
      ? h("span.tab.off", { "aria-disabled": "true" }, told)
      : h("a.tab", { href, "aria-current": name === step ? "page" : null, "data-focus": `tab-${name}` }, told, badge));
  });
  head.replaceChildren(
    h("div.ticket", {}, h("img", { src: "/page/mark.svg", alt: "", width: 28, height: 28 }), h("span.brand", {}, "Bonefolder"),
      folio && step !== "start" ? h("span.job", {}, folio.source, folio.fresh ? null : h("span.busy", {}, " · being written anew …")) : null),
    h("nav", { "aria-label": "Steps" }, h("ol.tabs", {}, links)),
  );
}

async function show() {
  const { id, step } = where();
  notice("");
  try {
    if (id) await open(id);
    if (where().id !== id || where().step !== step) return;
    const draw = step === "start" ? start : VIEWS[step];
    const redraw = () => { if (shown === redraw) { drawHead(step); draw(view, redraw); } };
    shown = redraw;
    listen(() => redrawn(redraw));
    redraw();
    document.title = `${STEPS.find(([name]) => name === step)[1]}${store.folio && step !== "start" ? ` · ${store.folio.source}` : ""} · The desk`;
    window.scrollTo(0, 0);
    (view.querySelector("[data-first]") ?? view).focus({ preventScroll: true });
  } catch (trouble) {
    notice(trouble.message, "error");
    store.folio = null;
    drawHead("start");
    if (step !== "start") window.location.hash = "#/start";
  }
}

document.getElementById("skip").addEventListener("click", (event) => { event.preventDefault(); view.focus(); });
window.addEventListener("hashchange", show);
show();

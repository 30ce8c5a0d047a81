// The cutting sheet drawn to scale: each piece with its size, its score lines dashed.

import { h, svg } from "./dom.js";
import { mixed, number } from "./sizes.js";

/** Draw the pieces side by side, all to the same scale. */
export function cutsheet(cuts) {
  if (!cuts.length) return null;
  const sizes = cuts.map((cut) => [number(cut.width), number(cut.height)]);
  const largest = Math.max(...sizes.flat());
  const unit = 150 / largest;
  return h("div.cutsheet", {}, cuts.map((cut, place) => piece(cut, sizes[place].map((side) => Math.max(6, side * unit)))));
}

function piece(cut, [width, height]) {
  const size = `${mixed(cut.width)} × ${mixed(cut.height)} ${cut.unit}`;
  const lines = cut.scores.map((score) => {
    const x = 4 + (number(score) / number(cut.width)) * width;
    return svg("line", { x1: x, y1: 4, x2: x, y2: 4 + height, class: "score" });
  });
  const told = `${cut.quantity} of ${cut.material || "paper"}, ${size}${cut.scores.length ? `, scored at ${cut.scores.map(mixed).join(", ")} ${cut.unit}` : ""}`;
  return h("figure", {}, svg("svg", { viewBox: `0 0 ${width + 8} ${height + 8}`, width: width + 8, height: height + 8, role: "img", "aria-label": told },
    svg("rect", { x: 4, y: 4, width, height, class: "piece" }), lines),
    h("figcaption", {}, h("strong", {}, size), h("span", {}, `${cut.quantity} × ${cut.material || "paper"}`), cut.scores.length ? h("span.hint", {}, `score at ${cut.scores.map(mixed).join(", ")} ${cut.unit}`) : null));
}

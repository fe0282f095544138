// Rulers along the two edges, in the recipe's own units: zero at the nose and on the parting line.

import { EDGE, toPage } from "./layout.js";
import { svg } from "./svg.js";

const NEAREST = 3.2; // px from stroke to stroke
const WORD = 40; // px from figure to figure
const MARKS = {
  mm: { unit: 1, steps: [1, 5, 10, 50, 100], figures: [1, 5, 10, 20, 50, 100] },
  in: { unit: 25.4, steps: [1 / 16, 1 / 8, 1 / 4, 1 / 2, 1, 5], figures: [1 / 4, 1 / 2, 1, 2, 5, 10] },
};
const LENGTHS = [4, 6, 9, 11, 11, 11];

/** Draws both rulers anew into `group`. */
export function drawRulers(group, layout, units) {
  group.replaceChildren();
  const { unit, steps, figures } = MARKS[units] ?? MARKS.mm;
  const scale = layout.scale * unit;
  const fine = steps.findIndex((step) => step * scale >= NEAREST);
  const used = steps.slice(fine === -1 ? steps.length - 1 : fine);
  const figured = figures.find((step) => step * scale >= WORD) ?? figures[figures.length - 1];
  const [left, foot] = [EDGE.left, layout.height - EDGE.bottom];
  const edges = [
    { from: layout.x0, to: layout.x0 + (layout.width - left - EDGE.right) / layout.scale, level: true },
    { from: layout.y0, to: layout.y0 + (foot - EDGE.top) / layout.scale, level: false },
  ];
  let path = `M${left} ${EDGE.top}V${foot}H${layout.width - EDGE.right}`;
  for (const { from, to, level } of edges) {
    for (let i = Math.ceil(from / unit / used[0] - 1e-9); i * used[0] * unit <= to + 1e-9; i++) {
      const place = i * used[0];
      const rank = used.findLastIndex((step) => whole(place / step));
      const [x, y] = toPage(layout, level ? [place * unit, layout.y0] : [layout.x0, place * unit]);
      path += level ? `M${x.toFixed(1)} ${foot}v${LENGTHS[rank]}` : `M${left} ${y.toFixed(1)}h${-LENGTHS[rank]}`;
      if (!whole(place / figured)) continue;
      const at = level ? { x, y: foot + 21, "text-anchor": "middle" } : { x: left - 14, y: y + 4, "text-anchor": "end" };
      group.append(svg("text", at, figureOf(place)));
    }
  }
  group.append(svg("text", { x: left - 14, y: foot + 21, "text-anchor": "end" }, units));
  group.append(svg("path", { d: path }));
}

function whole(number) {
  return Math.abs(number - Math.round(number)) < 1e-6;
}

function figureOf(place) {
  const quarters = { 0.25: "¼", 0.5: "½", 0.75: "¾" };
  const size = Math.abs(place);
  const rest = quarters[Math.round((size % 1) * 100) / 100];
  const figure = rest ? `${Math.floor(size) || ""}${rest}` : String(Math.round(size * 100) / 100);
  return place < 0 ? `−${figure}` : figure;
}

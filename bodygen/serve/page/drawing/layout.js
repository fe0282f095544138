// How the bait's mm lie on the page's pixels: as large as fits, and then left alone, so that only what changes moves.

export const EDGE = { left: 46, right: 16, top: 26, bottom: 28 }; // room for rulers and the line of words
const SLACK = 0.05; // of the room: the box has air of its own, which may go over the edge before all is laid out anew
const SMALLEST = 0.6; // of the room in its tighter direction: below, the drawing is laid out anew

/** Where (x, y) in mm lies: {scale, x0, y0}, px = left + (x - x0) scale. Keeps `before` while the box lies well in it. */
export function laidOut(box, width, height, before) {
  const room = [width - EDGE.left - EDGE.right, height - EDGE.top - EDGE.bottom];
  if (before && before.width === width && before.height === height && holds(before, box, room)) return before;
  const [wide, high] = [box[2] - box[0], box[3] - box[1]].map((size) => Math.max(size, 1));
  const scale = Math.max(0.1, Math.min(room[0] / wide, room[1] / high));
  const middle = [(box[0] + box[2]) / 2, (box[1] + box[3]) / 2];
  return {
    width, height, scale,
    x0: middle[0] - room[0] / scale / 2,
    y0: middle[1] - room[1] / scale / 2,
  };
}

function holds({ scale, x0, y0 }, box, room) {
  const [wide, high] = room.map((size) => size / scale);
  const [dx, dy] = [SLACK * wide, SLACK * high];
  const inside = box[0] >= x0 - dx && box[1] >= y0 - dy && box[2] <= x0 + wide + dx && box[3] <= y0 + high + dy;
  const filled = Math.max(((box[2] - box[0]) * scale) / room[0], ((box[3] - box[1]) * scale) / room[1]);
  return inside && filled > SMALLEST;
}

/** A point [mm] in pixels; y runs down the page. */
export function toPage(layout, [x, y]) {
  return [EDGE.left + (x - layout.x0) * layout.scale, layout.height - EDGE.bottom - (y - layout.y0) * layout.scale];
}

/** The path of a line through points [mm]. */
export function pathOf(layout, points, closed) {
  const steps = points.map((point) => toPage(layout, point).map((at) => at.toFixed(2)).join(" "));
  return steps.length ? `M${steps.join("L")}${closed ? "Z" : ""}` : "";
}

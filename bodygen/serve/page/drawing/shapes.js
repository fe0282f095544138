// The drawing's lines by their role, each with the weight that it has on paper (drawing.css).

import { pathOf, toPage } from "./layout.js";
import { set, svg } from "./svg.js";

const FROM_BELOW = ["paint", "metal", "centre", "waterline", "bore", "slot", "wire", "hook", "lip", "inner", "dimension", "outline"];

/** The water goes on past both ends of what was sent, to the edge of the sheet. */
function farther([a, b]) {
  const way = [b[0] - a[0], b[1] - a[1]];
  return [[a[0] - 9 * way[0], a[1] - 9 * way[1]], [b[0] + 9 * way[0], b[1] + 9 * way[1]]];
}

/** Draws `shapes` into `group`, with the elements that are there as far as they go. */
export function drawShapes(group, layout, shapes) {
  const ordered = [...shapes].sort((a, b) => FROM_BELOW.indexOf(a.role) - FROM_BELOW.indexOf(b.role));
  ordered.forEach((shape, place) => {
    const name = shape.text ? "text" : "path";
    let element = group.children[place];
    if (element?.tagName !== name) {
      const fresh = svg(name);
      if (element) element.replaceWith(fresh);
      else group.append(fresh);
      element = fresh;
    }
    set(element, { class: `drawing-${shape.role}${shape.hidden ? " is-hidden" : ""}` });
    if (shape.text) {
      const [x, y] = toPage(layout, shape.points[0]);
      set(element, { x: x.toFixed(1), y: y.toFixed(1) });
      if (element.textContent !== shape.text) element.textContent = shape.text;
    } else {
      const points = shape.role === "waterline" && shape.points.length === 2 ? farther(shape.points) : shape.points;
      set(element, { d: pathOf(layout, points, shape.closed) });
      if (shape.colour) element.style.fill = shape.colour;
      else element.style.removeProperty("fill");
    }
  });
  while (group.children.length > ordered.length) group.lastChild.remove();
}

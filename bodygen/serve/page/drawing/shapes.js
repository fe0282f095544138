// The drawing's lines by their role, each with the weight that it has on paper (drawing.css).

import { pathOf, toPage } from "./layout.js";
import { set, svg } from "./svg.js";

const FROM_BELOW = ["paint", "metal", "centre", "waterline", "bore", "slot", "wire", "hook", "lip", "inner", "dimension", "outline"];

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
      set(element, { d: pathOf(layout, shape.points, shape.closed) });
      if (shape.colour) element.style.fill = shape.colour;
      else element.style.removeProperty("fill");
    }
  });
  while (group.children.length > ordered.length) group.lastChild.remove();
}

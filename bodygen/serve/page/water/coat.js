// What is painted on the two flanks, as one picture for the skin's shader: the left flank above, the right one below.

import { CanvasTexture, LinearFilter } from "../vendor/three.js";

const WIDE = 1024; // px from nose to tail
const FLANKS = ["left", "right"];

/** Lays the paint of an answer (or null, bare wood) into the uniforms `coat` and `coatBox`. */
export function paintCoat(shared, paint) {
  shared.coat.value?.dispose();
  shared.coat.value = null;
  if (!paint) return;
  const [x0, z0, x1, z1] = paint.box;
  const scale = WIDE / (x1 - x0);
  const high = Math.ceil((z1 - z0) * scale);
  const canvas = Object.assign(document.createElement("canvas"), { width: WIDE, height: 2 * high });
  const brush = canvas.getContext("2d");
  if (!brush) return;
  FLANKS.forEach((flank, place) => {
    for (const { colour, outlines } of paint[flank]) {
      brush.fillStyle = colour;
      brush.beginPath();
      for (const outline of outlines) {
        outline.forEach(([x, z], i) => {
          brush[i ? "lineTo" : "moveTo"]((x - x0) * scale, place * high + (z1 - z) * scale);
        });
        brush.closePath();
      }
      brush.fill("evenodd");
    }
  });
  const texture = new CanvasTexture(canvas);
  Object.assign(texture, { generateMipmaps: false, minFilter: LinearFilter, premultiplyAlpha: false });
  shared.coat.value = texture;
  shared.coatBox.value.set(x0, z0, x1, z1);
}

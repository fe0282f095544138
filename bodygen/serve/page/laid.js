// A scan laid over the bait as it is: its outlines as the server drew them, and where a plane cuts its triangles.

/** What the server said of it, as water and drawing take a second bait; `cut` makes the drawing of a view. */
export function laidScan({ name, views, positions, index, places, sentence, sentences, air }) {
  const part = { role: "body", colour: null, positions: new Float32Array(positions), normals: null, index: new Uint32Array(index) };
  return { name, places, sentence, sentences, views, air, solid: { parts: [part] } };
}

/** Such a one in the shape that `laidScan` takes, of numbers alone: what a browser keeps. */
export function asTold({ solid, ...rest }) {
  const [{ positions, index }] = solid.parts;
  return { ...rest, positions: [...positions], index: [...index] };
}

/** It as the answer to `view`; of a section, cut at `x` [mm] and seen from the nose. */
export function laidIn({ views, solid, air }, view, x) {
  const lines = view === "section" ? cutAt(solid.parts[0], x) : views[view];
  const shapes = lines.map((points) => ({ role: "outline", closed: view !== "section", points }));
  return { drawing: shapes.length ? { view, box: boxOf(lines, air), shapes } : null, solid };
}

/** A line for each triangle that the plane at `x` goes through, to the right and up as seen from the nose. */
function cutAt({ positions, index }, x) {
  const lines = [];
  for (let i = 0; i < index.length; i += 3) {
    const ends = [];
    for (let k = 0; k < 3; k++) {
      const [a, b] = [3 * index[i + k], 3 * index[i + ((k + 1) % 3)]];
      const over = positions[a] > x;
      if (over === positions[b] > x) continue;
      const share = (x - positions[a]) / (positions[b] - positions[a]);
      const [y, z] = [1, 2].map((axis) => positions[a + axis] + share * (positions[b + axis] - positions[a + axis]));
      ends.push([-y, z]);
    }
    if (ends.length === 2) lines.push(ends);
  }
  return lines;
}

function boxOf(lines, air) {
  const box = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [right, up] of lines.flat()) {
    box[0] = Math.min(box[0], right);
    box[1] = Math.min(box[1], up);
    box[2] = Math.max(box[2], right);
    box[3] = Math.max(box[3], up);
  }
  const more = air * Math.max(box[2] - box[0], box[3] - box[1]);
  return [box[0] - more, box[1] - more, box[2] + more, box[3] + more];
}

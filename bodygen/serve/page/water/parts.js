// The solid's parts as things to draw: a surface, its outline in ink, its creases as lines.

import { BufferAttribute, BufferGeometry, LineSegments, Mesh } from "../vendor/three.js";
import { shares } from "./ink.js";
import { lines, outline, surface } from "./materials.js";

const OUTLINED = new Set(["body", "hook", "ring", "eye", "screw_eye", "wire", "metal"]);
const RIMMED = new Set(["hook", "ring", "screw_eye", "wire"]); // while it moves these have rims for outlines: a third fewer triangles
const CREASED = new Set(["body", "lip", "metal"]);

/**
 * Lays the solid's parts into `group` instead of what was there; `clearly`: the wood lets the metal be seen.
 * `materials` keeps what was made by its looks: a material that goes takes its program along, and that is slow to make.
 * `shapes` keeps what was made of a part's positions: a part that is as it was is not sent to be drawn anew.
 */
export function layParts(group, solid, shared, inks, clearly, { materials, shapes }) {
  const kept = (make, look = {}) => {
    const key = `${make.name} ${JSON.stringify(look)}`;
    if (!materials.has(key)) materials.set(key, make(shared, look));
    return materials.get(key);
  };
  const before = new Map(shapes);
  shapes.clear();
  group.clear();
  for (const part of solid.parts) {
    if (!part.positions || !part.index) continue;
    const { geometry, creases } = before.get(part.positions) ?? shapeOf(part);
    shapes.set(part.positions, { geometry, creases });
    const clear = part.role === "lip" || (clearly && (part.role === "body" || part.role === "paint"));
    const mesh = new Mesh(geometry, kept(surface, lookOf(part, Boolean(shared.coat.value), inks, clear)));
    mesh.renderOrder = clear ? 1 : 0;
    group.add(mesh);
    if (OUTLINED.has(part.role) && !clear) group.add(after(new Mesh(geometry, kept(outline)), part.role !== "body"));
    if (creases) group.add(new LineSegments(creases, kept(lines, { alpha: clear ? 0.9 : 0.75 })));
  }
  for (const [positions, { geometry, creases }] of before) {
    if (shapes.has(positions)) continue;
    geometry.dispose();
    creases?.dispose();
  }
}

/** Shows what is drawn only of a bait that stands still, or not. */
export function setStill(group, still) {
  for (const child of group.children) child.visible = still || !child.userData.whenStill;
}

/** Most of an outline lies behind its surface: drawn after that, it costs next to nothing. */
function after(mesh, whenStill) {
  mesh.renderOrder = 0.5;
  mesh.userData.whenStill = whenStill;
  return mesh;
}

function shapeOf(part) {
  const geometry = geometryOf(part);
  const creases = CREASED.has(part.role) && part.normals ? creasesOf(part.index) : [];
  return { geometry, creases: creases.length ? lined(geometry, creases) : null };
}

function geometryOf(part) {
  const geometry = indexed(part.positions, part.index);
  if (part.normals) geometry.setAttribute("normal", new BufferAttribute(part.normals, 3));
  else geometry.computeVertexNormals(); // for the outline alone: without normals it is shaded flat
  return geometry;
}

function indexed(positions, index) {
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(positions, 3));
  geometry.setIndex(new BufferAttribute(index, 1));
  return geometry;
}

/** Lines between the points of a surface. */
function lined(surface, pairs) {
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", surface.getAttribute("position"));
  geometry.setIndex(new BufferAttribute(pairs, 1));
  return geometry;
}

function lookOf(part, painted, inks, clear) {
  const own = part.colour ? shares(part.colour) : null;
  const mixed = (a, b, share) => a.map((one, i) => one + (b[i] - one) * share);
  const look = { tone: inks.metal, pitch: 1 / 42, flat: !part.normals };
  if (part.role === "under") Object.assign(look, { tone: mixed(inks.paper, inks.ink, 0.5), alpha: 0.16, rim: 0.7, pitch: 0, flat: false });
  else if (part.role === "body") Object.assign(look, { tone: own ?? inks.wood, alpha: clear ? 0.28 : 1, coated: painted });
  else if (part.role === "paint") Object.assign(look, { tone: own ?? inks.paper, lifted: true, alpha: clear ? 0.2 : 1 });
  else if (part.role === "lip") Object.assign(look, { tone: own ?? mixed(inks.paper, inks.water, 0.25), alpha: 0.3, shine: 0.5, pitch: 0 });
  else if (part.role === "eye") Object.assign(look, { tone: own ?? mixed(inks.ink, inks.wood, 0.12), shine: 0.9, pitch: 0 });
  else Object.assign(look, { tone: own ?? inks.metal, shine: 0.35, pitch: 0, rim: RIMMED.has(part.role) ? 0.6 : 0 });
  return look;
}

/** Pairs of points along edges with one face only: where the server has split the skin, it bends sharply. */
function creasesOf(index) {
  // each edge on a heap of its lower point, as a chain; one that comes the other way takes itself off again
  let most = 0;
  for (let i = 0; i < index.length; i++) if (index[i] > most) most = index[i];
  const first = new Int32Array(most + 1).fill(-1);
  const next = new Int32Array(index.length);
  const open = new Uint8Array(index.length);
  let left = 0;
  for (let i = 0; i < index.length; i++) {
    const from = index[i];
    const to = index[i % 3 === 2 ? i - 2 : i + 1];
    const low = Math.min(from, to);
    let at = first[low];
    while (at !== -1 && !(open[at] && index[at] === to && index[at % 3 === 2 ? at - 2 : at + 1] === from)) at = next[at];
    if (at !== -1) {
      open[at] = 0;
      left -= 1;
    } else {
      open[i] = 1;
      next[i] = first[low];
      first[low] = i;
      left += 1;
    }
  }
  const pairs = new Uint32Array(2 * left);
  for (let i = 0, at = 0; i < index.length; i++) {
    if (!open[i]) continue;
    pairs[at++] = index[i];
    pairs[at++] = index[i % 3 === 2 ? i - 2 : i + 1];
  }
  return pairs;
}

/** Least and greatest corners of all parts, in body axes [mm]. */
export function boxOf(solid) {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (const { positions } of solid.parts) {
    for (let i = 0; positions && i < positions.length; i++) {
      const axis = i % 3;
      if (positions[i] < low[axis]) low[axis] = positions[i];
      if (positions[i] > high[axis]) high[axis] = positions[i];
    }
  }
  return { low, high };
}

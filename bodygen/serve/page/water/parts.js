// The solid's parts as things to draw: a surface, its outline in ink, its creases as lines.

import { BufferAttribute, BufferGeometry, DoubleSide, LineSegments, Mesh } from "../vendor/three.js";
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
    const shape = before.get(part.positions) ?? shapeOf(part);
    shapes.set(part.positions, shape);
    const clear = part.role === "lip" || (clearly && (part.role === "body" || part.role === "paint"));
    const mesh = new Mesh(shape.front, kept(surface, lookOf(part, Boolean(shared.coat.value), inks, clear)));
    mesh.renderOrder = clear ? 1 : 0;
    shape.clear = mesh.material.side === DoubleSide;
    group.add(mesh);
    if (OUTLINED.has(part.role) && !clear) group.add(after(new Mesh(shape.back, kept(outline)), part.role !== "body"));
    if (shape.creases) group.add(new LineSegments(shape.creases, kept(lines, { alpha: clear ? 0.99 : 0.94 })));
  }
  for (const child of group.children) child.frustumCulled = false; // the eye is on the bait
  for (const [positions, shape] of before) {
    if (!shapes.has(positions)) for (const kind of ["front", "back", "creases"]) shape[kind]?.dispose();
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

/** A surface and, for its outline, its back: two stretches of one index, as `turnTo` puts it. */
function shapeOf({ role, positions, normals, index }) {
  const front = geometryOf(positions, normals, index);
  const back = new BufferGeometry();
  for (const name of ["position", "normal"]) back.setAttribute(name, front.getAttribute(name));
  back.setIndex(front.index);
  const creases = CREASED.has(role) && normals ? creasesOf(index, positions) : [];
  return { index, front, back, creases: creases.length ? lined(front, creases) : null, planes: null, clear: false };
}

/**
 * Has only those triangles drawn that face `eye` (a place in the parts' own axes, mm), and for outlines those that do
 * not: a software renderer works out the corners of the others in vain. What is seen through stays whole.
 */
export function turnTo(eye, shapes) {
  for (const shape of shapes) {
    if (shape.clear) whole(shape);
    else split(shape, eye);
  }
}

function whole({ index, front }) {
  if (front.drawRange.count === Infinity) return;
  front.setDrawRange(0, Infinity);
  front.index.array.set(index);
  front.index.needsUpdate = true;
}

function split(shape, [x, y, z]) {
  const { index, front, back } = shape;
  const planes = (shape.planes ??= planesOf(index, front.getAttribute("position").array));
  const { array } = front.index;
  let [low, high] = [0, array.length];
  for (let i = 0, p = 0; i < index.length; i += 3, p += 4) {
    const faces = planes[p] * x + planes[p + 1] * y + planes[p + 2] * z > planes[p + 3];
    const at = faces ? low : (high -= 3);
    if (faces) low += 3;
    array[at] = index[i];
    array[at + 1] = index[i + 1];
    array[at + 2] = index[i + 2];
  }
  front.setDrawRange(0, low);
  back.setDrawRange(low, array.length - low);
  front.index.needsUpdate = true;
}

/** Of each triangle four numbers: what lies before it has n . p > d. */
function planesOf(index, positions) {
  const planes = new Float32Array((index.length / 3) * 4);
  for (let i = 0, p = 0; i < index.length; i += 3, p += 4) {
    const a = 3 * index[i];
    const b = 3 * index[i + 1];
    const c = 3 * index[i + 2];
    const x = positions[a];
    const y = positions[a + 1];
    const z = positions[a + 2];
    const ux = positions[b] - x;
    const uy = positions[b + 1] - y;
    const uz = positions[b + 2] - z;
    const vx = positions[c] - x;
    const vy = positions[c + 1] - y;
    const vz = positions[c + 2] - z;
    const nx = uy * vz - uz * vy;
    const ny = uz * vx - ux * vz;
    const nz = ux * vy - uy * vx;
    planes[p] = nx;
    planes[p + 1] = ny;
    planes[p + 2] = nz;
    planes[p + 3] = nx * x + ny * y + nz * z;
  }
  return planes;
}

function geometryOf(positions, normals, index) {
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(positions, 3));
  geometry.setIndex(new BufferAttribute(shortest(index, positions), 1));
  if (normals) geometry.setAttribute("normal", new BufferAttribute(normals, 4, true)); // shares of 32767
  else geometry.computeVertexNormals(); // for the outline alone: without normals it is shaded flat
  return geometry;
}

/** The same numbers, in two bytes each where these have room for them. */
const shortest = (index, positions) => (positions.length > 3 * 65536 ? index.slice() : new Uint16Array(index));

/** Lines between the points of a surface. */
function lined(surface, pairs) {
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", surface.getAttribute("position"));
  geometry.setIndex(new BufferAttribute(shortest(pairs, geometry.getAttribute("position").array), 1));
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
function creasesOf(index, positions) {
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
  let at = 0;
  for (let i = 0; i < index.length; i++) {
    if (!open[i]) continue;
    const [from, to] = [index[i], index[i % 3 === 2 ? i - 2 : i + 1]];
    if (!isBefore(positions, from, to)) continue; // it comes from the faces on both its sides, there and back
    pairs[at++] = from;
    pairs[at++] = to;
  }
  return pairs.subarray(0, at);
}

function isBefore(positions, from, to) {
  for (let axis = 0; axis < 3; axis++) {
    const way = positions[3 * to + axis] - positions[3 * from + axis];
    if (way) return way > 0;
  }
  return false;
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

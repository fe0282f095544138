// The picture: bait, water, eye. World axes in mm: x to the right, y away from the eye, z up, the surface at z = 0.

import {
  BufferAttribute, BufferGeometry, Group, LineSegments, Mesh, PerspectiveCamera, Scene, WebGLRenderer,
} from "../vendor/three.js";
import { paintCoat } from "./coat.js";
import { REACH, sharedUniforms, waterRings, waterSheet } from "./materials.js";
import { boxOf, layParts, turnTo } from "./parts.js";

const FILLED = 0.8; // of the picture's half width or height, by the bait
const KEPT = [0.5, 0.97]; // a bait that grows and stays between these is not followed: what changes should be seen to
const SINKS_BY = 0.8; // of its depth: how far below the surface a bait hangs that has none

export function makeScene(canvas) {
  const renderer = new WebGLRenderer({ canvas, alpha: true, antialias: false });
  renderer.setClearColor(0, 0);
  renderer.debug.checkShaderErrors = false; // asking waits for the compiler; the tests look at the pixels
  const scene = new Scene();
  const bait = new Group();
  const under = new Group();
  const camera = new PerspectiveCamera(24, 1, 1, 4000);
  camera.up.set(0, 0, 1);
  const shared = sharedUniforms();
  const sheet = new Mesh(disc(8, 48), waterSheet(shared));
  const lines = new LineSegments(rings(6, 120), waterRings(shared));
  lines.frustumCulled = false; // the shader puts them where they are
  sheet.renderOrder = -1;
  lines.renderOrder = 2;
  scene.add(bait, under, sheet, lines);
  const kept = { materials: new Map(), shapes: new Map(), shapesUnder: new Map() };
  return { renderer, scene, camera, bait, under, sheet, shared, ...kept, box: null, pivot: [0, 0, 0], distance: 0 };
}

/** A disc of radius 1 as `circles` of `corners`: its colour fades from corner to corner. */
function disc(circles, corners) {
  const positions = new Float32Array(3 * circles * corners);
  const index = [];
  for (let i = 0; i < circles; i++) {
    for (let k = 0; k < corners; k++) {
      const turn = (2 * Math.PI * k) / corners;
      const at = i * corners + k;
      positions.set([(Math.cos(turn) * i) / (circles - 1), (Math.sin(turn) * i) / (circles - 1), 0], 3 * at);
      const beside = i * corners + ((k + 1) % corners);
      if (i) index.push(at - corners, at, beside, at - corners, beside, beside - corners);
    }
  }
  return geometryOf(positions, index);
}

/** Rings as what their shader makes them of: how far out, and where round (materials.js). */
function rings(count, corners) {
  const positions = new Float32Array(3 * count * corners);
  const index = [];
  for (let i = 0; i < count; i++) {
    for (let k = 0; k < corners; k++) {
      positions.set([(0.9 * (i + 0.5)) / count, (2 * Math.PI * k) / corners, 0], 3 * (i * corners + k));
      index.push(i * corners + k, i * corners + ((k + 1) % corners));
    }
  }
  return geometryOf(positions, index);
}

function geometryOf(positions, index) {
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(positions, 3));
  geometry.setIndex(new BufferAttribute(new Uint16Array(index), 1));
  return geometry;
}

/** The inks of the page in every material. */
export function dye(world, inks) {
  for (const name of ["ink", "water"]) world.shared[name].value.set(...inks[name]);
  world.shared.inverted.value = inks.inverted;
}

/** Lets go of what other inks were made for, after `again` has made it for these: so no program is made anew. */
export function redyed(world, again) {
  const before = world.materials;
  world.materials = new Map();
  again();
  for (const material of before.values()) material.dispose();
}

/** Another solid in the picture. */
export function lay(world, solid, inks, clearly) {
  world.box = boxOf(solid);
  const size = world.box.high[0] - world.box.low[0];
  const { shared } = world;
  shared.size.value = size / 2;
  shared.span.value = size;
  world.sheet.scale.set(REACH * size, REACH * size, 1);
  layParts(world.bait, solid, shared, inks, clearly, world);
}

/** Lays a speck of every part, and has the programs made that draw them: a browser is at that beside all else. */
export function prepare(world, inks) {
  const { renderer, scene, camera, shared } = world;
  const facets = {
    positions: new Float32Array([0, 0, 0, 1, 0, 0, 0, 0, 1]),
    normals: new Int16Array([0, -32767, 0, 0, 0, -32767, 0, 0, 0, -32767, 0, 0]),
    index: new Uint16Array([0, 1, 2]),
  };
  // each with numbers of its own, as they have in a bait
  const parts = ["body", "lip", "hook", "eye"].map((role) => ({ role, ...facets, positions: facets.positions.slice() }));
  const level = { pitch: 0, roll: 0, height: 0 };
  paintCoat(shared, { box: [0, 0, 1024, 1], left: [], right: [] });
  lay(world, { parts }, inks, false);
  place(world, level, [0, 0, 0], { heave: 0, roll: 0, pitch: 0 });
  look(world, level, [0, 0, 0], { round: 0, above: 0.3, near: 1 });
  renderer.compile(scene, camera);
}

/** Draws what `prepare` laid, so that nothing is met for the first time when the first bait comes, and wipes it off. */
export function rehearse(world) {
  const { renderer, scene, camera, shared } = world;
  renderer.render(scene, camera);
  renderer.clear();
  paintCoat(shared, null);
  world.bait.clear();
  Object.assign(world, { box: null, distance: 0 });
}

/** A second bait in pale ink, its wood and its lip alone; none where `solid` is null. */
export function layUnder(world, solid, inks) {
  const parts = (solid?.parts ?? []).filter(({ role }) => role === "body" || role === "lip");
  const pale = { parts: parts.map((part) => ({ ...part, role: "under", colour: null })) };
  layParts(world.under, pale, world.shared, inks, false, { materials: world.materials, shapes: world.shapesUnder });
}

/** Puts the second bait at its own rest, its nose where the first one's is when both lie level. */
export function placeUnder({ under, box }, rest, centre) {
  if (box) lie(under, box, rest, centre, { heave: 0, pitch: 0, roll: 0 });
}

/** Puts the second one where the first one is now: a scan is not afloat, as it has no weight. */
export function placeOver({ under, bait }) {
  under.rotation.copy(bait.rotation);
  under.position.copy(bait.position);
}

/** Puts the bait where it is now: turned about its centre of mass, this as high as it is. */
export function place(world, rest, centre, off) {
  const { bait, box, shared } = world;
  if (!box) return;
  lie(bait, box, rest, centre, off);
  shared.afloat.value = rest.height === null ? 0 : 1;
}

function lie(bait, box, rest, centre, off) {
  const middle = centre.map((at, i) => at - (box.low[i] + box.high[i]) / 2);
  const [x, y] = turned(middle, rest.pitch, rest.roll);
  const depth = box.high[2] - box.low[2];
  const height = (rest.height ?? -SINKS_BY * depth) + off.heave;
  const pitch = rest.pitch + off.pitch;
  const roll = rest.roll + off.roll;
  const moved = turned(centre, pitch, roll);
  bait.rotation.set(roll, pitch, 0, "ZYX"); // about the body's x first, then nose up
  bait.position.set(x - moved[0], y - moved[1], height - moved[2]);
}

/** A point of the body after roll and pitch: right side up, nose up. */
function turned([x, y, z], pitch, roll) {
  const [b, c] = [y * Math.cos(roll) - z * Math.sin(roll), y * Math.sin(roll) + z * Math.cos(roll)];
  return [x * Math.cos(pitch) + c * Math.sin(pitch), b, c * Math.cos(pitch) - x * Math.sin(pitch)];
}

/** The eye: `view` {round, above, near}; as near as the bait at rest then fills the picture. */
export function look(world, rest, centre, view) {
  const { camera, box } = world;
  if (!box) return;
  const corners = cornersAtRest(world, rest, centre);
  const filled = world.distance ? extent(world, corners, world.distance) : 0;
  if (filled < KEPT[0] || filled > KEPT[1]) {
    const middle = (axis) => (Math.min(...corners.map((at) => at[axis])) + Math.max(...corners.map((at) => at[axis]))) / 2;
    world.pivot = [middle(0), middle(1), middle(2)];
    let [near, far] = [1, 3000];
    for (let i = 0; i < 24; i++) {
      const between = Math.sqrt(near * far);
      if (extent(world, corners, between) > FILLED) near = between;
      else far = between;
    }
    world.distance = far;
  }
  const away = world.distance / view.near;
  const level = away * Math.cos(view.above);
  const [x, y, z] = world.pivot;
  camera.position.set(x + level * Math.sin(view.round), y - level * Math.cos(view.round), z + away * Math.sin(view.above));
  camera.near = away / 20;
  camera.far = away * 12;
  camera.lookAt(x, y, z);
  camera.updateProjectionMatrix();
  world.bait.updateMatrixWorld();
  turnTo(world.bait.worldToLocal(camera.position.clone()).toArray(), world.shapes.values());
}

/** Seen square from the side: how much of the half width or half height the corners reach, from that far away. */
function extent({ camera, pivot }, corners, distance) {
  const half = Math.tan((camera.fov * Math.PI) / 360);
  const reach = corners.map(([x, y, z]) => {
    const deep = Math.max(1e-3, distance + (y - pivot[1]));
    return Math.max(Math.abs(x - pivot[0]) / camera.aspect, Math.abs(z - pivot[2])) / (deep * half);
  });
  return Math.max(...reach);
}

function cornersAtRest({ box }, rest, centre) {
  const depth = box.high[2] - box.low[2];
  const height = rest.height ?? -SINKS_BY * depth;
  const middle = turned(centre.map((at, i) => at - (box.low[i] + box.high[i]) / 2), rest.pitch, rest.roll);
  const moved = turned(centre, rest.pitch, rest.roll);
  return [0, 1, 2, 3, 4, 5, 6, 7].map((which) => {
    const corner = [0, 1, 2].map((axis) => ((which >> axis) & 1 ? box.high : box.low)[axis]);
    const at = turned(corner, rest.pitch, rest.roll);
    return [at[0] - moved[0] + middle[0], at[1] - moved[1] + middle[1], at[2] - moved[2] + height];
  });
}

/** Fits the canvas to its room: `width` and `height` in CSS pixels, `ratio` of the canvas's own to these. */
export function fit(world, width, height, ratio) {
  world.renderer.setPixelRatio(ratio);
  world.renderer.setSize(width, height, false);
  world.shared.room.value.set(width, height);
  const aspect = width / height;
  if (Math.abs(aspect - world.camera.aspect) > 1e-6) {
    world.camera.aspect = aspect;
    world.distance = 0;
  }
}

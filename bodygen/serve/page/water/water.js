// The bait in the water: shows an answer of the server, lets the bait settle, and draws only when something moves.

import { paintCoat } from "./coat.js";
import { readInks } from "./ink.js";
import { broken, paceOf, paced } from "./pace.js";
import { setStill } from "./parts.js";
import { carriedOver, isStill, later, restOf, still, swingsOf } from "./rocking.js";
import { dye, fit, lay, layUnder, look, makeScene, place, placeOver, placeUnder, prepare, redyed, rehearse } from "./scene.js";
import { turning } from "./turning.js";

const LONGEST_FRAME = 0.05; // s; a page that was away goes on where it was
const FINE_AFTER = 600; // ms of stillness before the picture is drawn once more, finer
const FINE = 2; // pixels of the canvas to one of the page, then
const PUSH = { heave: -0.06, roll: 0.22, pitch: 0.07 }; // of the length; rad
const OF_A_WHOLE = ["righting", "damping", "added_mass", "inertia_g_mm2"]; // a glance goes on with the last ones
const WORDS = {
  handling: "Arrow keys turn the view, plus and minus go nearer and farther, Home goes back, space pushes the bait.",
  none: "This browser shows no picture in depth (it has no WebGL). The drawing shows the same bait.",
  lost: "The picture of the water was lost. It comes back by itself; the drawing shows the same bait.",
};

/**
 * Puts the picture into `element`; `show(answer, state)` draws at once. While it has to `wait(true)` for an answer that
 * a hand asked for, nothing rocks: in software drawing takes all of a machine, and the answer would come later.
 */
export function mount(element, { words = {} } = {}) {
  const says = { ...WORDS, ...words };
  element.classList.add("water");
  // shown when there is a bait on it: else the page waits with its next frame until what is rehearsed is drawn
  const canvas = made("canvas", { tabIndex: 0, role: "application", hidden: true });
  canvas.setAttribute("aria-roledescription", "picture to turn");
  canvas.setAttribute("aria-label", says.handling);
  const note = made("p", { className: "water-says", hidden: true });
  note.setAttribute("role", "status");
  element.replaceChildren(canvas, note);

  const it = {
    element, canvas, note, says, world: null, inks: null, answer: null, under: null, solid: null, water: null,
    rest: null, swings: { heave: null, roll: null, pitch: null }, motion: still(), clearly: false,
    relaid: false, asked: 0, later: 0, before: 0, pace: paceOf(), fine: 0, frames: 0, view: null,
    due: false, waits: false,
    calm: matchMedia("(prefers-reduced-motion: reduce)"),
  };
  Object.defineProperty(element, "frames", { get: () => it.frames, configurable: true });
  try {
    it.world = makeScene(canvas);
  } catch {
    canvas.remove();
    tell(it, says.none);
  }
  const stop = it.world ? listen(it) : () => {};
  return {
    element,
    show: (answer, state) => show(it, answer, state),
    wait: (on) => wait(it, on),
    ready: () => ready(it),
    resize: () => resized(it),
    push: () => push(it),
    dispose: () => {
      stop();
      element.replaceChildren();
    },
  };
}

/** While the first answer is on its way: a browser takes as long to make the programs that draw a bait as to draw it. */
function ready(it) {
  if (!it.world || it.solid) return;
  rehearse(it.world);
  begun(it.world.renderer.getContext());
}

function made(name, properties) {
  return Object.assign(document.createElement(name), properties);
}

function tell(it, text) {
  it.note.textContent = text;
  it.note.hidden = !text;
}

function listen(it) {
  const { canvas, element, world } = it;
  it.view = turning(canvas, () => ask(it));
  it.inks = readInks(element);
  dye(world, it.inks);
  prepare(world, it.inks);
  const bar = made("div", { className: "water-tools" });
  const clearly = made("button", { type: "button", textContent: "See through" });
  clearly.setAttribute("aria-pressed", "false");
  clearly.addEventListener("click", () => {
    it.clearly = !it.clearly;
    clearly.setAttribute("aria-pressed", String(it.clearly));
    again(it);
  });
  const pushed = made("button", { type: "button", textContent: "Push" });
  pushed.addEventListener("click", () => push(it));
  const home = made("button", { type: "button", textContent: "As at first" });
  home.addEventListener("click", () => it.view.home());
  bar.append(clearly, pushed, home);
  element.append(bar);

  canvas.addEventListener("keydown", (event) => {
    if (event.key !== " ") return;
    event.preventDefault();
    push(it);
  });
  canvas.addEventListener("webglcontextlost", (event) => {
    event.preventDefault(); // else it never comes back
    tell(it, it.says.lost);
  });
  canvas.addEventListener("webglcontextrestored", () => {
    tell(it, "");
    again(it);
  });
  const recoloured = () => {
    it.inks = readInks(element);
    dye(world, it.inks);
    redyed(world, () => {
      if (it.solid) lay(world, it.solid, it.inks, it.clearly);
      layUnder(world, it.under?.solid, it.inks);
    });
    ask(it);
  };
  const scheme = matchMedia("(prefers-color-scheme: dark)");
  scheme.addEventListener("change", recoloured);
  const theme = new MutationObserver(recoloured);
  theme.observe(document.documentElement, { attributes: true, attributeFilter: ["data-theme", "class"] });
  const room = new ResizeObserver(() => resized(it));
  room.observe(element);
  return () => {
    scheme.removeEventListener("change", recoloured);
    theme.disconnect();
    room.disconnect();
    cancelAnimationFrame(it.asked);
    clearTimeout(it.later);
    clearTimeout(it.fine);
    world.renderer.dispose();
    world.renderer.forceContextLoss(); // a browser has few of them
  };
}

/** The same answer with other inks or other clearness. */
function again(it) {
  it.relaid = Boolean(it.solid);
  ask(it);
}

function show(it, answer, state = {}) {
  it.element.classList.toggle("is-faint", Boolean(answer?.refused || state?.offline));
  const below = state?.under?.solid ? state.under : null;
  if (below !== it.under) {
    it.under = below;
    if (it.world) layUnder(it.world, below?.solid, it.inks);
    ask(it);
  }
  if (!answer || answer.refused || answer === it.answer) return;
  const another = it.answer?.name !== answer.name;
  it.answer = answer;
  if (answer.solid?.parts?.length && answer.solid !== it.solid) {
    it.solid = answer.solid;
    it.relaid = true;
    if (another && it.world) it.world.distance = 0;
  }
  if (it.world && (another || answer.want === "whole") && answer.paint !== undefined) {
    paintCoat(it.world.shared, answer.paint);
    it.relaid = true;
  }
  if (answer.water) settle(it, answer.water, another);
  broken(it.pace);
  frame(it); // at once: it is drawn while the rest of the page is laid out
}

function wait(it, on) {
  it.waits = on;
  broken(it.pace);
  if (!on && it.rest && !isStill(it.motion)) rock(it);
}

/** A new rest: from where the bait is now, or let go level, back up, where it is another bait. */
function settle(it, water, another) {
  const known = { ...water };
  for (const name of another ? [] : OF_A_WHOLE) known[name] ??= it.water?.[name];
  const rest = restOf(known);
  const swings = swingsOf(known);
  const before = another || !it.rest ? { pitch: 0, roll: 0, height: rest.height } : it.rest;
  it.motion = carriedOver(another ? still() : it.motion, before, rest, swings);
  if (it.calm.matches) it.motion = still();
  Object.assign(it, { water: known, rest, swings });
  tellPose(it);
}

function push(it) {
  if (!it.rest || it.calm.matches || !it.world?.box) return;
  const size = it.world.box.high[0] - it.world.box.low[0];
  const off = { ...it.motion.off };
  for (const name of ["heave", "roll", "pitch"]) {
    if (it.swings[name]) off[name] = PUSH[name] * (name === "heave" ? size : 1);
  }
  it.motion = { off, speed: it.motion.speed };
  ask(it);
}

/** The pose as data, for whoever measures or tests: on the element and on the canvas. */
function tellPose(it) {
  const { rest, motion, element, canvas } = it;
  const degrees = (angle) => (angle * 180) / Math.PI;
  const pose = {
    pitch_deg: degrees(rest.pitch + motion.off.pitch),
    roll_deg: degrees(rest.roll + motion.off.roll),
    heave_mm: motion.off.heave,
    resting: isStill(motion),
  };
  const rested = pose.resting && !element.pose?.resting;
  element.pose = pose;
  canvas.dataset.pose = JSON.stringify(pose);
  if (!pose.resting) return;
  const turn = (angle, way, other) => `${Math.abs(angle).toFixed(1)}° ${angle >= 0 ? way : other}`;
  const lies = `${it.answer.name}, nose ${turn(pose.pitch_deg, "up", "down")}, right side ${turn(pose.roll_deg, "up", "down")}`;
  canvas.setAttribute("aria-label", `${lies}. ${it.says.handling}`);
  if (rested) element.dispatchEvent(new CustomEvent("water:rest", { detail: pose, bubbles: true }));
}

/** Something else than the bait moved: draw in the next frame. */
function ask(it) {
  it.due = true;
  rock(it);
}

/**
 * The bait goes on. A frame of its own is begun when the one before is shown, not in the next: whoever draws in software
 * is then at it while the page rests, and the next frame need not wait for it.
 */
function rock(it) {
  clearTimeout(it.fine);
  it.asked ||= requestAnimationFrame(() => {
    it.asked = 0;
    if (it.due) frame(it);
    else if (!it.waits) it.later = setTimeout(() => frame(it));
  });
}

function frame(it) {
  cancelAnimationFrame(it.asked);
  clearTimeout(it.later);
  clearTimeout(it.fine);
  Object.assign(it, { asked: 0, due: false });
  const now = performance.now();
  if (it.rest) {
    const seconds = it.before ? Math.min(LONGEST_FRAME, (now - it.before) / 1000) : 1 / 60;
    const moving = !isStill(it.motion);
    if (moving) it.motion = later(it.motion, it.swings, seconds);
    if (isStill(it.motion)) it.motion = still();
    if (moving) tellPose(it);
    stirred(it, moving ? seconds : 0);
  }
  draw(it, paced(it.pace, it.before ? now - it.before : 0) * devicePixelRatio);
  const moves = it.rest && !isStill(it.motion);
  it.before = moves ? now : 0;
  if (moves) rock(it);
  else it.fine = setTimeout(() => draw(it, FINE), FINE_AFTER);
}

/** Rings run outwards as long as the bait moves. */
function stirred(it, seconds) {
  if (!it.world) return;
  const { phase, stir, span } = it.world.shared;
  const { heave, roll, pitch } = it.motion.off;
  stir.value = Math.min(1, Math.abs(heave) / (0.03 * span.value) + Math.abs(roll) * 4 + Math.abs(pitch) * 8);
  phase.value += 0.18 * seconds; // lengths of the bait
}

function draw(it, ratio) {
  const { world, element } = it;
  if (!world || !it.rest || !it.solid || world.renderer.getContext().isContextLost()) return;
  const { clientWidth: width, clientHeight: height } = element;
  if (!width || !height) return;
  const wanted = Math.min(FINE, ratio);
  if (it.ratio !== wanted || it.width !== width || it.height !== height) {
    Object.assign(it, { ratio: wanted, width, height });
    fit(world, width, height, wanted);
  }
  if (it.relaid) {
    lay(world, it.solid, it.inks, it.clearly);
    it.relaid = false;
  }
  setStill(world.bait, ratio === FINE);
  place(world, it.rest, it.water.centre_of_mass, it.motion.off);
  if (it.under?.water) placeUnder(world, restOf(it.under.water), it.under.water.centre_of_mass);
  else if (it.under) placeOver(world);
  look(world, it.rest, it.water.centre_of_mass, it.view.place);
  world.renderer.render(world.scene, world.camera);
  it.canvas.hidden = false;
  begun(world.renderer.getContext());
  it.frames += 1;
}

/** Has the picture drawn from now on, beside what else the page has to do; without a fence it is put off until it is shown. */
function begun(gl) {
  gl.deleteSync(gl.fenceSync(gl.SYNC_GPU_COMMANDS_COMPLETE, 0));
  gl.flush();
}

/** At once: a canvas that has another size is empty until it is drawn. */
function resized(it) {
  draw(it, it.ratio === FINE ? FINE : devicePixelRatio);
}

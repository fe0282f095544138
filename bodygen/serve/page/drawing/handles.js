// Places of the drawing that a hand moves, by pointer or by keys; each is a slider of one key of the recipe.

import { toPage } from "./layout.js";
import { stepped, written } from "./numbers.js";
import { set, svg } from "./svg.js";

const HIT = { fine: 12, coarse: 22 }; // px, half of what a pointer and a finger need
const SMALL = 4; // px to a mm: marks are smaller, too
const TOGETHER = 4; // px: handles nearer than this are one place, and the first move says which is meant
const MEANT = 4; // px of that move
const PATIENCE = 1500; // ms that a handle stays where the hand left it while the answer is on its way
const FINELY = 0.1; // of a step, with shift
const LEAP = 10; // steps
const NUDGE = 0.4; // mm that one arrow key moves at most

/** Handles in `group` of the drawing `root`; `told(text)` says the value that is held, `changed(key, text, {final, further})`. */
export function handles(root, group, { told, changed }) {
  const it = { root, group, told, changed, layout: null, all: new Map(), held: null };
  const coarse = matchMedia("(pointer: coarse)");
  it.radius = () => (coarse.matches ? HIT.coarse : HIT.fine);
  root.addEventListener("pointerdown", (event) => taken(it, event));
  root.addEventListener("pointermove", (event) => moved(it, event));
  root.addEventListener("pointerup", (event) => released(it, event));
  root.addEventListener("pointercancel", (event) => released(it, event));
  coarse.addEventListener("change", () => it.layout && settle(it));
  return {
    draw: (layout, rows) => draw(it, layout, rows),
    get busy() {
      return it.held !== null;
    },
  };
}

function draw(it, layout, rows) {
  it.layout = layout;
  const seen = new Set();
  for (const row of rows) {
    let name = row.key;
    while (seen.has(name)) name += "'";
    seen.add(name);
    const handle = it.all.get(name) ?? made(it, name);
    if (handle.left !== null && (near(handle.left, row) || performance.now() - handle.since > PATIENCE)) handle.left = null;
    handle.row = row;
  }
  for (const [name, handle] of it.all) {
    if (seen.has(name) || it.held?.handle === handle) continue;
    handle.mark.remove();
    it.all.delete(name);
  }
  settle(it);
}

function near(number, row) {
  return Math.abs(number - row.number) <= 0.51 * FINELY * row.step;
}

function made(it, name) {
  const mark = svg("g", { class: "drawing-handle", role: "slider", tabindex: 0 });
  mark.append(svg("circle", { class: "drawing-hit" }), svg("circle", { class: "drawing-mark" }));
  const handle = { name, mark, row: null, left: null, since: 0, pressed: false };
  mark.addEventListener("keydown", (event) => pressed(it, handle, event));
  mark.addEventListener("keyup", () => lifted(it, handle));
  mark.addEventListener("blur", () => {
    lifted(it, handle);
    it.told(null);
  });
  for (const shown of ["focus", "pointerenter"]) mark.addEventListener(shown, () => tell(it, handle));
  mark.addEventListener("pointerleave", () => it.held || it.told(null));
  it.group.append(mark);
  it.all.set(name, handle);
  return handle;
}

/** The number that the handle shows: as left by the hand until the answer has it. */
function numberOf(handle) {
  return handle.left ?? handle.row.number;
}

function placeOf(it, handle) {
  const { at, along, per_mm: perMm, number } = handle.row;
  const off = (numberOf(handle) - number) / perMm;
  return toPage(it.layout, [at[0] + along[0] * off, at[1] + along[1] * off]);
}

function settle(it) {
  for (const handle of it.all.values()) {
    const { row, mark } = handle;
    const [x, y] = placeOf(it, handle);
    const text = handle.left === null && row.text ? row.text : written(handle.left ?? row.number, row.unit, row.step);
    set(mark, {
      transform: `translate(${x.toFixed(1)} ${y.toFixed(1)})`,
      "data-key": row.key, "aria-label": row.label, "aria-valuetext": text, "aria-valuenow": numberOf(handle),
      "aria-orientation": Math.abs(row.along[0]) >= Math.abs(row.along[1]) ? "horizontal" : "vertical",
    });
    if (row.low !== null && row.low !== undefined) set(mark, { "aria-valuemin": row.low });
    if (row.high !== null && row.high !== undefined) set(mark, { "aria-valuemax": row.high });
    set(mark.firstChild, { r: it.radius() });
    set(mark.lastChild, { r: it.layout.scale < SMALL ? 3.5 : 4.5 });
  }
}

function tell(it, handle) {
  it.told(`${handle.row.label}: ${handle.mark.getAttribute("aria-valuetext")}`);
}

function put(it, handle, number, { final, step }) {
  const { row } = handle;
  const text = written(number, row.unit, step);
  const further = written(stepped(2 * number - numberOf(handle), row, step), row.unit, step); // if it goes on so
  Object.assign(handle, { left: number, since: performance.now() });
  settle(it);
  set(handle.mark, { "aria-valuetext": text });
  tell(it, handle);
  it.changed(row.key, text, { final, further });
}

function pointed(it, event) {
  const box = it.root.getBoundingClientRect();
  return [event.clientX - box.left, event.clientY - box.top];
}

function taken(it, event) {
  if (event.button !== 0 || it.held || !it.layout) return;
  const from = pointed(it, event);
  const away = (handle) => {
    const [x, y] = placeOf(it, handle);
    return Math.hypot(x - from[0], y - from[1]);
  };
  const within = [...it.all.values()].filter((handle) => away(handle) <= it.radius()).sort((a, b) => away(a) - away(b));
  if (!within.length) return;
  event.preventDefault();
  it.root.setPointerCapture(event.pointerId);
  const together = within.filter((handle) => away(handle) - away(within[0]) < TOGETHER);
  it.held = { pointer: event.pointerId, from, together, handle: null, start: 0, last: null };
  within[0].mark.focus({ preventScroll: true });
  if (together.length === 1) hold(it, within[0]);
}

function hold(it, handle) {
  Object.assign(it.held, { handle, start: numberOf(handle), text: handle.mark.getAttribute("aria-valuetext") });
  handle.mark.classList.add("is-held");
  handle.mark.focus({ preventScroll: true });
}

function moved(it, event) {
  const { held } = it;
  if (!held || event.pointerId !== held.pointer) return;
  const to = pointed(it, event);
  const way = [(to[0] - held.from[0]) / it.layout.scale, (held.from[1] - to[1]) / it.layout.scale];
  if (!held.handle) {
    if (Math.hypot(...way) * it.layout.scale < MEANT) return;
    const meant = (handle) => Math.abs(handle.row.along[0] * way[0] + handle.row.along[1] * way[1]);
    hold(it, held.together.reduce((best, handle) => (meant(handle) > meant(best) ? handle : best)));
  }
  const { row } = held.handle;
  const step = event.shiftKey ? FINELY * row.step : row.step;
  const number = stepped(held.start + (row.along[0] * way[0] + row.along[1] * way[1]) * row.per_mm, row, step);
  if (number === numberOf(held.handle)) return;
  held.last = { number, step };
  put(it, held.handle, number, { final: false, step });
}

function released(it, event) {
  const { held } = it;
  if (!held || event.pointerId !== held.pointer) return;
  it.held = null;
  held.handle?.mark.classList.remove("is-held");
  if (held.last) put(it, held.handle, held.last.number, { final: true, step: held.last.step });
}

/** Put back what a drag has changed so far; returns whether there was one. */
function givenUp(it) {
  const { held } = it;
  if (!held?.handle) return false;
  it.held = null;
  held.handle.mark.classList.remove("is-held");
  if (held.last) {
    Object.assign(held.handle, { left: held.start, since: performance.now() });
    settle(it);
    it.changed(held.handle.row.key, held.text, { final: true });
  }
  return true;
}

function pressed(it, handle, event) {
  if (event.ctrlKey || event.altKey || event.metaKey) return;
  if (event.key === "Escape" && givenUp(it)) return;
  const { row } = handle;
  const step = event.shiftKey ? FINELY * row.step : Math.max(row.step, coarsely(row));
  const steps = stepsOf(event.key, row);
  const ends = { Home: row.low, End: row.high };
  const wanted = steps ? numberOf(handle) + steps * step : ends[event.key];
  if (wanted === undefined || wanted === null) return;
  event.preventDefault();
  const number = stepped(wanted, row, event.shiftKey ? step : row.step);
  if (number === numberOf(handle)) return;
  handle.pressed = true;
  put(it, handle, number, { final: false, step: event.shiftKey ? step : row.step });
}

/** Multiples of the key's step that come nearest to a nudge that can be seen. */
function coarsely(row) {
  return Math.max(1, Math.round((NUDGE * Math.abs(row.per_mm)) / row.step)) * row.step;
}

/** Arrow keys move the handle the way they point, where it can go that way; else they mean more or less. */
function stepsOf(key, { along, per_mm: perMm }) {
  const ways = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
  if (key === "PageUp" || key === "PageDown") return key === "PageUp" ? LEAP : -LEAP;
  const way = ways[key];
  if (!way) return 0;
  const ahead = (along[0] * way[0] + along[1] * way[1]) * Math.sign(perMm);
  return Math.abs(ahead) > 0.3 ? Math.sign(ahead) : way[0] + way[1];
}

function lifted(it, handle) {
  if (!handle.pressed) return;
  handle.pressed = false;
  it.changed(handle.row.key, handle.mark.getAttribute("aria-valuetext"), { final: true });
}

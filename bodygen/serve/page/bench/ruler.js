// A field's own ruler: a tape that runs under a fixed mark. A finger draws the tape; an `input type=range` lies under it
// for the keyboard, for a reader of the screen and for whoever moves it by program.

import { el, svg } from "./element.js";

const PITCH = 7; // px from tick to tick
const REACH = 30; // ticks drawn to either side
const SLACK = 5; // more of them: so far the tape is pushed as it is, and not drawn anew
const HEIGHT = 22;

/** A number as people write it in this unit: fractions where the step is one of an inch. */
export function written(number, { unit, step }) {
  if (inFractions({ unit, step })) return `${inches(number, 1 / step)} in`;
  const digits = Math.max(0, Math.min(6, Math.ceil(-Math.log10(step) - 1e-9)));
  const text = Number(number.toFixed(digits)) === 0 ? (0).toFixed(digits) : number.toFixed(digits);
  return unit ? `${text} ${unit}` : text;
}

const inFractions = ({ unit, step }) => unit === "in" && Number.isInteger(Math.log2(step));

function inches(number, finest) {
  let parts = Math.round(Math.abs(number) * finest);
  const sign = number < 0 && parts ? "-" : "";
  const whole = Math.floor(parts / finest);
  parts -= whole * finest;
  if (!parts) return `${sign}${whole}`;
  let of = finest;
  while (parts % 2 === 0) [parts, of] = [parts / 2, of / 2];
  return `${sign}${whole ? `${whole}-` : ""}${parts}/${of}`;
}

/** How a tick stands out: the largest round number that it lies on. */
function rank(index, field) {
  const [long, middling] = inFractions(field) ? [1 / field.step, 1 / field.step / 8] : [10, 5];
  if (index % long === 0) return 2;
  return index % middling === 0 ? 1 : 0;
}

/**
 * `onMove(number, further)` while it moves, with where it comes to if it goes on so; `onRest()` when the hand stops.
 * Returns {element, show(field)}.
 */
export function ruler(key, label, { onMove, onRest, onHold }) {
  const thin = svg("path", { class: "tick" });
  const bold = svg("path", { class: "tick bold" });
  const words = svg("g", {});
  const tape = svg("g", {}, thin, bold, words);
  const face = svg(
    "svg",
    { "aria-hidden": "true", height: HEIGHT, class: "tape" },
    svg(
      "svg",
      { x: "50%", overflow: "visible" },
      tape,
      svg("path", { class: "mark", d: `M0 ${HEIGHT}V4M-4 0H4L0 6Z` }),
    ),
  );
  const range = el("input", { type: "range", step: "any", "data-ruler": key, "aria-label": `${label}, ruler` });
  const element = el("div", { class: "ruler" }, range, face);
  let field = null;
  let number = 0;
  let resting = 0;
  let inked = { at: NaN, of: "" }; // what the tape is drawn round, and by which numbers

  function nearest(wanted) {
    const { low, high, step } = field;
    return Math.min(high, Math.max(low, Math.round(wanted / step) * step));
  }

  function move(wanted) {
    const near = nearest(wanted);
    if (near === number) return;
    const further = nearest(2 * near - number);
    number = near;
    onMove(number, further); // first: what it asks for is on its way while the tape is drawn
    draw();
  }

  function draw() {
    const { low, high, step, unit } = field;
    const middle = Math.round(number / step);
    const of = [low, high, step, unit].join();
    if (inked.of !== of || !(Math.abs(middle - inked.at) <= SLACK)) {
      inked = { at: middle, of };
      ink(middle);
    }
    tape.setAttribute("transform", `translate(${(PITCH * (inked.at - number / step)).toFixed(1)} 0)`);
    range.value = number;
    range.setAttribute("aria-valuetext", written(number, field));
  }

  function ink(middle) {
    const { low, high, step } = field;
    const named = inFractions(field) ? 1 : 2;
    let [fine, strong] = ["", ""];
    words.replaceChildren();
    for (let index = middle - REACH - SLACK; index <= middle + REACH + SLACK; index += 1) {
      const at = index * step;
      if (at < low - step * 1e-6 || at > high + step * 1e-6) continue;
      const x = (index - middle) * PITCH;
      const height = [5, 8, 12][rank(index, field)];
      if (rank(index, field)) strong += `M${x} ${HEIGHT}v-${height}`;
      else fine += `M${x} ${HEIGHT}v-${height}`;
      if (rank(index, field) >= named) words.append(svg("text", { x: x + 3, y: 10 }, written(at, field).split(" ")[0]));
    }
    thin.setAttribute("d", fine);
    bold.setAttribute("d", strong);
  }

  function rest() {
    clearTimeout(resting);
    onRest();
  }

  range.addEventListener("input", () => {
    move(Number(range.value));
    clearTimeout(resting);
    resting = setTimeout(rest, 300); // a program that moves it may never say that it stopped
  });
  range.addEventListener("change", rest);
  range.addEventListener("focus", () => onHold(true));
  range.addEventListener("blur", () => onHold(false));
  range.addEventListener("keydown", (event) => {
    const steps = stepsOf(event);
    if (steps === null) return;
    event.preventDefault();
    if (typeof steps === "number") move(number + steps * field.step);
    else move(steps === "low" ? field.low : field.high);
  });
  range.addEventListener("keyup", (event) => stepsOf(event) !== null && rest());
  drawn(element, { start: () => number, move: (from, px) => move(from - (px / PITCH) * field.step), rest, range });

  return {
    element,
    /** With `keep` the field is older than the hand: the tape stays, or goes where `now` says if that is known. */
    show(shown, { keep, number: now }) {
      if (keep && field) {
        if (now === undefined || now === number) return;
        number = now;
        draw();
        return;
      }
      field = shown;
      const known = typeof field.number === "number";
      element.classList.toggle("unknown", !known);
      range.disabled = !known;
      if (!known) return;
      number = field.number;
      range.min = field.low;
      range.max = field.high;
      draw();
    },
  };
}

function stepsOf(event) {
  const big = event.shiftKey ? 10 : 1;
  const of = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1, PageUp: 10, PageDown: -10 }[event.key];
  if (of) return of * big;
  return { Home: "low", End: "high" }[event.key] ?? null;
}

/** A finger or a mouse that draws the tape along. */
function drawn(element, { start, move, rest, range }) {
  let held = null;
  element.addEventListener("pointerdown", (event) => {
    if (range.disabled || event.button) return;
    held = { x: event.clientX, from: start() };
    element.setPointerCapture(event.pointerId);
    range.focus({ preventScroll: true });
    event.preventDefault();
  });
  element.addEventListener("pointermove", (event) => held && move(held.from, event.clientX - held.x));
  const up = () => {
    if (!held) return;
    held = null;
    rest();
  };
  element.addEventListener("pointerup", up);
  element.addEventListener("pointercancel", up);
}

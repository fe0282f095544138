// Walking round the bait: by pointer, by two fingers, by keys. Knows angles and a nearness, no picture.

const AT_FIRST = { round: -0.42, above: 0.26, near: 1 }; // rad towards the nose, rad over the water
const LOWEST = -0.7;
const HIGHEST = 1.45;
const NEAREST = 4;
const FARTHEST = 0.5;
const KEYS = {
  ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1],
};
const KEY_STEP = Math.PI / 36;
const DRAG = 0.008; // rad a pixel

/** Listens on `canvas`; `moved()` after each change of the returned `place` {round, above, near}. */
export function turning(canvas, moved) {
  const place = { ...AT_FIRST };
  const fingers = new Map();

  function turn(round, above) {
    place.round += round;
    place.above = Math.min(HIGHEST, Math.max(LOWEST, place.above + above));
    moved();
  }
  function approach(times) {
    place.near = Math.min(NEAREST, Math.max(FARTHEST, place.near * times));
    moved();
  }
  function home() {
    Object.assign(place, AT_FIRST);
    moved();
  }

  canvas.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    canvas.setPointerCapture(event.pointerId);
  });
  canvas.addEventListener("pointermove", (event) => {
    const last = fingers.get(event.pointerId);
    if (!last) return;
    const before = spread(fingers);
    const [dx, dy] = [event.clientX - last.x, event.clientY - last.y];
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    if (fingers.size === 1) turn(-dx * DRAG, event.pointerType === "touch" ? 0 : dy * DRAG);
    else if (before > 0) approach(spread(fingers) / before);
  });
  for (const end of ["pointerup", "pointercancel", "lostpointercapture"]) {
    canvas.addEventListener(end, (event) => fingers.delete(event.pointerId));
  }
  // the page scrolls over a picture that nobody holds
  canvas.addEventListener("wheel", (event) => {
    if (document.activeElement !== canvas && !event.ctrlKey) return;
    event.preventDefault();
    approach(Math.exp(-event.deltaY * 0.002));
  }, { passive: false });
  canvas.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    if (KEYS[event.key]) turn(...KEYS[event.key].map((way) => way * KEY_STEP));
    else if (event.key === "+" || event.key === "=") approach(1.15);
    else if (event.key === "-") approach(1 / 1.15);
    else if (event.key === "Home") home();
    else return;
    event.preventDefault();
  });
  return { place, home };
}

function spread(fingers) {
  const [a, b] = [...fingers.values()];
  return b ? Math.hypot(a.x - b.x, a.y - b.y) : 0;
}

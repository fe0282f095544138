// How the bait comes to rest: three damped swings, integrated from the curves and figures that the server gives.
// Nothing here knows a density or a shape. Angles in rad, lengths in mm, masses in g, seconds.

const STEP = 1 / 240; // s; the quickest swing of a bait, some 5 Hz, has 48 of them
const MM_PER_S2 = 1e6; // N / g and N mm / (g mm^2), in mm / s^2 and 1 / s^2
const STILL = { heave: 0.01, roll: 3e-4, pitch: 3e-4 }; // mm and rad: less is not seen
export const MOTIONS = ["heave", "roll", "pitch"];

/** Pitch (nose up) and roll (right side up) of a vertical in body axes; on end there is no roll. */
export function attitude([x, y, z]) {
  const pitch = Math.asin(Math.max(-1, Math.min(1, -x)));
  return { pitch, roll: Math.hypot(y, z) < 1e-9 ? 0 : Math.atan2(y, z) };
}

/** Where the bait lies when all is still; `height` of its centre of mass over the surface, null where there is none. */
export function restOf(water) {
  const { up, centre_of_mass: centre, level_mm: level } = water;
  const along = up[0] * centre[0] + up[1] * centre[1] + up[2] * centre[2];
  return { ...attitude(up), height: level === null || level === undefined ? null : along - level };
}

/** The three swings of an answer, each with its pull back and its damping; null where a number for it is missing. */
export function swingsOf(water) {
  const { up, mass_g: mass, inertia_g_mm2: inertia, righting, heave_n_per_mm: stiffness } = water;
  const share = (figure, name) => (typeof figure === "number" ? figure : figure?.[name]);
  const swing = (name, bulk, back, slope) => {
    const moved = bulk * (1 + share(water.added_mass, name));
    const damping = 2 * share(water.damping, name) * Math.sqrt((MM_PER_S2 * slope) / moved);
    return slope > 0 && moved > 0 && damping >= 0 ? { back: (off) => (MM_PER_S2 * back(off)) / moved, damping } : null;
  };
  const turned = (name, axis) => {
    const curve = righting?.[name];
    if (!curve || !inertia) return null;
    return swing(name, about(inertia, axis), (off) => read(curve, off), steepest(curve));
  };
  const [along, across] = horizontal(up);
  return {
    heave: swing("heave", mass, (off) => stiffness * off, stiffness),
    roll: turned("roll", along),
    pitch: turned("pitch", across),
  };
}

/** Fore and aft, and across: the horizontal axes of a vertical in body axes; on end the body's z stands for x. */
function horizontal(up) {
  const length = Math.hypot(up[1], up[2]);
  const ahead = length > 1e-6 ? [1, 0, 0] : [0, 0, 1];
  const lift = ahead[0] * up[0] + ahead[2] * up[2];
  const raw = ahead.map((part, i) => part - lift * up[i]);
  const size = Math.hypot(...raw);
  const a = raw.map((part) => part / size);
  return [a, [up[1] * a[2] - up[2] * a[1], up[2] * a[0] - up[0] * a[2], up[0] * a[1] - up[1] * a[0]]];
}

function about(inertia, axis) {
  return axis.reduce((sum, a, i) => sum + a * axis.reduce((row, b, k) => row + b * inertia[i][k], 0), 0);
}

/** The curve [[deg, N mm]...] at an angle [rad], straight between its points, level past its ends. */
function read(curve, angle) {
  const degrees = (angle * 180) / Math.PI;
  let next = curve.findIndex(([at]) => at > degrees);
  if (next === -1) return curve[curve.length - 1][1];
  next = Math.max(next, 1);
  const [[a, low], [b, high]] = [curve[next - 1], curve[next]];
  return low + ((high - low) * Math.max(0, degrees - a)) / (b - a);
}

/** Its slope at rest [N mm / rad]. */
function steepest(curve) {
  const near = Math.PI / 60;
  return (read(curve, near) - read(curve, -near)) / (2 * near);
}

/** A bait at rest: how far off it is in each motion, and how fast. */
export function still() {
  return { off: { heave: 0, roll: 0, pitch: 0 }, speed: { heave: 0, roll: 0, pitch: 0 } };
}

/** Where it is now, seen from a new rest: what was a place becomes a way to go. Motions without a swing are there at once. */
export function carriedOver(motion, before, after, swings) {
  const off = {
    heave: before.height === null || after.height === null ? 0 : before.height + motion.off.heave - after.height,
    roll: wrapped(before.roll + motion.off.roll - after.roll),
    pitch: before.pitch + motion.off.pitch - after.pitch,
  };
  const kept = (values) => Object.fromEntries(MOTIONS.map((name) => [name, swings[name] ? values[name] : 0]));
  return { off: kept(off), speed: kept(motion.speed) };
}

function wrapped(angle) {
  return angle - 2 * Math.PI * Math.round(angle / (2 * Math.PI));
}

/** The motion `seconds` later; semi-implicit steps, which keep a swing's energy. */
export function later(motion, swings, seconds) {
  const off = { ...motion.off };
  const speed = { ...motion.speed };
  const steps = Math.max(1, Math.round(seconds / STEP));
  for (const name of MOTIONS) {
    const swing = swings[name];
    if (!swing) continue;
    for (let i = 0; i < steps; i++) {
      speed[name] = (speed[name] - STEP * swing.back(off[name])) / (1 + STEP * swing.damping);
      off[name] += STEP * speed[name];
    }
  }
  return { off, speed };
}

/** Whether nobody would see it move any more. */
export function isStill({ off, speed }) {
  return MOTIONS.every((name) => Math.abs(off[name]) < STILL[name] && Math.abs(speed[name]) < 20 * STILL[name]);
}

// How many pixels a moving picture has: one for each of the page, fewer where the machine is too slow for them.

const SLOW = 1000 / 29; // ms from frame to frame; below 30 a second it no longer flows
const ROUGH = 0.6; // of the page's pixels along each side, at least
const STEP = 0.85;
const LONG = 200; // ms: what took longer was no drawing
const FRAMES = 24; // from one look at the pace to the next

export function paceOf() {
  return { share: 1, gap: 0, frames: 0 };
}

/** What comes next is no measure of how long drawing takes. */
export function broken(pace) {
  pace.frames = 0;
}

/** The share of pixels along each side for a frame that comes `gap` ms after the last one; 0: after a stillness. */
export function paced(pace, gap) {
  if (!gap) pace.frames = 0;
  else {
    pace.gap = pace.frames ? pace.gap + 0.15 * (Math.min(LONG, gap) - pace.gap) : SLOW;
    pace.frames += 1;
    if (pace.frames % FRAMES === 0) {
      if (pace.gap > SLOW) pace.share = Math.max(ROUGH, pace.share * STEP);
      else if (pace.gap < SLOW * STEP) pace.share = Math.min(1, pace.share / STEP);
    }
  }
  return pace.share;
}

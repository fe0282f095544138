// When the bait rocks: while nobody waits for an answer, and a little after a hand that moves a value has stopped.

const AFTER_MS = 150;

/** `wait(on)` is the water's; returns what tells of asks and of the hand. */
export function calmed(wait) {
  let glancing = false;
  let moving = 0;

  function tell() {
    wait(glancing || moving !== 0);
  }
  function letGo() {
    clearTimeout(moving);
    moving = 0;
    tell();
  }
  function moves() {
    clearTimeout(moving);
    moving = setTimeout(letGo, AFTER_MS);
    tell();
  }

  return {
    moves,
    letGo,
    /** An answer is shown: of a hand that moves, the next may be on its way. */
    shown: () => moving && moves(),
    glance(underWay) {
      glancing = underWay;
      tell();
    },
  };
}

// One thing more, and one less: each a change of the recipe, and one step back like any other.

import { button } from "./element.js";

/** The buttons of a group that put one more thing into the recipe; what they put in is the server's. */
export function moreOf(place, more, hand) {
  const now = JSON.stringify(more);
  if (place.dataset.shown === now) return;
  place.dataset.shown = now;
  const held = [...place.children].indexOf(document.activeElement);
  place.replaceChildren(...more.map(({ words, key, value }) => button(words, () => hand.mend({ [key]: value }))));
  place.hidden = !more.length;
  place.children[Math.min(held, more.length - 1)]?.focus();
}

/** The button that takes a thing out; hidden where it is not there, or has to be. */
export function oneLess(place, hand) {
  return button("take out", () => hand.mend({ [place]: null }), { class: "quiet" });
}

// One bore, fitting or coat more, and one less: each a change of the recipe, and one step back like any other.

import { button, el } from "./element.js";

const ANOTHER = {
  metal: [
    "bore",
    "Another bore for metal",
    '{ kind = "ballast", from = "belly", x = "20 mm", diameter = "5 mm", depth = "6 mm" }',
  ],
  hooks: ["fitting", "Another fitting", '{ kind = "weight", mass = "1 g", at = ["20 mm", "0 mm", "0 mm"] }'],
  finish: ["coat", "Another coat", '{ finish = "waterborne_polyurethane_dip", stage = "cleared" }'],
};

/** Does the group have room for things that are not there yet? */
export const takesMore = (group) => group in ANOTHER;

/** The button of a group that puts one more of its things into the recipe; `fields()` are all of the bench. */
export function oneMore(group, hand, fields) {
  if (!takesMore(group)) return null;
  const [table, words, text] = ANOTHER[group];
  const put = () => {
    const numbers = fields()
      .map(({ key }) => key.match(/^(\w+)\[(\d+)\]/))
      .filter((found) => found?.[1] === table);
    const last = Math.max(0, ...numbers.map((found) => Number(found[2])));
    hand.mend({ [`${table}[${last + 1}]`]: text });
  };
  return el("p", { class: "one-more" }, button(words, put));
}

/** The button that takes a thing out; none where the table is there once. */
export function oneLess(key, hand) {
  const [, thing] = key.match(/^(\w+\[\d+\])\.\w+$/) ?? [];
  if (!thing) return null;
  return button("take out", () => hand.mend({ [thing]: null }), { class: "quiet" });
}

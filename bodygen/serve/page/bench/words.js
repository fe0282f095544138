// The numbers a maker asks for, as sentences; what is not true yet is faint, never gone.

import { el, say, unbroken } from "./element.js";

export function sentences(element) {
  const list = el("ul", { class: "sentences" });
  const care = el("p", { class: "on-paper" });
  element.append(list, care);
  return {
    show(state) {
      const said = state.answer?.sentences ?? [];
      while (list.children.length < said.length) list.append(el("li", {}));
      while (list.children.length > said.length && said.length) list.lastChild.remove();
      said.forEach((sentence, index) => say(list.children[index], unbroken(sentence)));
      list.classList.toggle("faint", isFaint(state, "sentences"));
      if (state.answer?.care) say(care, byName(state.answer.care));
    },
  };
}

/** All there is to take care of, each by its name once, and the sentence that defers. */
function byName({ groups, defer }) {
  const names = Object.values(groups).flatMap((rows) => rows.map(({ title }) => title));
  return `Take care: ${[...new Set(names)].join("; ")}. ${defer}`;
}

/** Is this part of the answer older than what stands in the fields? */
export function isFaint(state, part) {
  return (
    state.refused.length > 0 ||
    state.gone ||
    Boolean(state.answer?.faint?.some((name) => name === part || name.startsWith(`${part}.`)))
  );
}

/** What the page's buttons are called that do what a command of the terminal does. */
export const DOES = { ballast: "Ballast", dive: "Depth", lip: "Lip", trim: "Tub" };

/** A sentence of the terminal's, with a command that the page has a button for called by that. */
export function here(sentence) {
  return sentence.replace(/`?\bbodygen (\w+)\b`?/g, (all, name) => (DOES[name] ? `the button “${DOES[name]}”` : all));
}

/** A mistake about what was written into a box of a sheet, by the box's name; undefined where it is of none. */
export function ofBox(refusal, labels) {
  const name = refusal.key?.startsWith("--") ? refusal.key.slice(2).replaceAll("-", "_") : "";
  const called = (option, other) => labels[other.replaceAll("-", "_")] ?? option;
  const accepted = refusal.accepted?.replace(/--([a-z-]+)/g, called);
  return labels[name] && mistake({ ...refusal, key: labels[name], accepted });
}

/** What stands for a value that is left out; or that it must not be. */
export const leftOut = ({ default: told }) => (told.includes("must be there") ? told : `left out: ${told}`);

/** A mistake as the terminal tells it: what was written, what is wrong with it, and what is accepted. */
export function mistake({ line, key, wrote, message, accepted }) {
  const subject = key && wrote ? `${key} = ${wrote}` : key || wrote;
  const head = [line ? `line ${line}` : "", subject, message].filter(Boolean).join(": ");
  return accepted ? `${head}\n${accepted}` : head;
}

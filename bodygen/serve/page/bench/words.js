// The numbers a maker asks for, as sentences; what is not true yet is faint, never gone.

import { el } from "./element.js";

export function sentences(element) {
  const list = el("ul", { class: "sentences" });
  element.append(list);
  return {
    show(state) {
      const said = state.answer?.sentences ?? [];
      while (list.children.length < said.length) list.append(el("li", {}));
      while (list.children.length > said.length && said.length) list.lastChild.remove();
      said.forEach((sentence, index) => {
        if (list.children[index].textContent !== sentence) list.children[index].textContent = sentence;
      });
      list.classList.toggle("faint", isFaint(state, "sentences"));
    },
  };
}

/** Is this part of the answer older than what stands in the fields? */
export function isFaint(state, part) {
  return (
    state.refused.length > 0 ||
    state.gone ||
    Boolean(state.answer?.faint?.some((name) => name === part || name.startsWith(`${part}.`)))
  );
}

/** A mistake as the terminal tells it: what was written, what is wrong with it, and what is accepted. */
export function mistake({ line, key, wrote, message, accepted }) {
  const subject = key && wrote ? `${key} = ${wrote}` : key || wrote;
  const head = [line ? `line ${line}` : "", subject, message].filter(Boolean).join(": ");
  return accepted ? `${head}\n${accepted}` : head;
}

// What is doubted about a value: one line under it, the whole of it on demand, its remedy as a button where one value
// mends it. A refusal (what the server could not understand) stands in the same line.

import { button, el, say } from "./element.js";
import { here, leftOut, mistake } from "./words.js";

const WORD = { error: "Error", warning: "Warning", note: "Note" };
const FIGURE = /^(\w+\.\w+)?$/; // what properties.json calls it, or nothing: the doubt's own words say as much here
const GRAVEST = ["error", "warning", "note"];

export function gravest(findings) {
  return GRAVEST.find((severity) => findings.some((finding) => finding.severity === severity)) ?? "note";
}

/** The line under a field: as high with a doubt as without. */
export function doubtLine(hand) {
  const about = el("span", { class: "usual" });
  const words = el("span", {});
  const summary = el("summary", {}, words);
  const full = el("div", { class: "doubt-full" });
  const details = el("details", { class: "doubt", hidden: true }, summary, full);
  const element = el("div", { class: "doubt-line" }, about, details);
  details.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || !details.open) return;
    details.open = false;
    summary.focus();
    event.stopPropagation();
  });
  let last = "";
  element.id = `doubt-${Math.random().toString(36).slice(2)}`;

  return {
    element,
    show(field, { findings, refusal }) {
      const usual = !field.value && field.default ? leftOut(field) : "";
      say(about, refusal || findings.length ? "" : usual);
      const now = JSON.stringify([refusal, findings]);
      if (now === last) return;
      last = now;
      details.hidden = !refusal && !findings.length;
      if (details.hidden) details.open = false;
      details.dataset.severity = refusal ? "error" : gravest(findings);
      words.replaceChildren(...(refusal ? [refusal.message] : short(findings)));
      summary.title = words.textContent;
      full.replaceChildren(
        ...(refusal ? [el("p", { class: "told" }, mistake(refusal))] : findings.map((finding) => whole(finding, hand))),
      );
    },
  };
}

function short(findings) {
  if (!findings.length) return [];
  const [first] = findings;
  const more = findings.length > 1 ? ` (and ${findings.length - 1} more)` : "";
  return [el("b", {}, `${WORD[first.severity]}:`), ` ${first.text}${more}`];
}

/** All of one doubt: the terminal's words, what is meant by them, what to do, and whose rule it is. */
export function whole(finding, hand) {
  const mend = finding.mend && button(finding.mend.words, () => mendBy(finding.mend, hand), { class: "mend" });
  return el(
    "div",
    { class: "finding", "data-severity": finding.severity },
    el("p", {}, el("b", {}, `${WORD[finding.severity]}: `), finding.text),
    el("p", { class: "meant" }, finding.about),
    el("p", {}, here(finding.remedy)),
    el("p", {}, el("small", {}, `[${finding.source}]`)),
    mend,
  );
}

/** Put in what mends it, and the hand on the value that was changed: the doubt and its button are about to go. */
function mendBy({ words, changes }, hand) {
  hand.mend(changes, words);
  hand.lead(Object.keys(changes)[0]);
}

/** All doubts of the bait in one place; each leads to its value. */
export function doubtList(hand) {
  const count = el("span", {});
  const list = el("div", { class: "doubt-full" });
  const element = el("details", { class: "all-doubts" }, el("summary", {}, count), list);
  element.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && element.open) {
      element.open = false;
      element.firstElementChild.focus();
    }
  });
  let last = "";

  return {
    element,
    show(findings, refused) {
      const now = JSON.stringify([findings, refused]);
      if (now === last) return;
      last = now;
      say(count, refused.length ? counted(refused.length, "value", "refused") : tally(findings));
      element.dataset.severity = refused.length ? "error" : findings.length ? gravest(findings) : "none";
      const refusals = refused.map((refusal) => el("p", { class: "finding told" }, mistake(refusal)));
      const rows = findings.map((finding) => {
        const row = whole(finding, hand);
        if (finding.key)
          row.append(button(`Show ${finding.where || finding.key}`, () => hand.lead(finding.key), { class: "quiet" }));
        else if (!FIGURE.test(finding.where)) row.prepend(el("small", {}, finding.where));
        return row;
      });
      list.replaceChildren(...refusals, ...rows);
      if (!refusals.length && !rows.length) list.append(el("p", {}, "Nothing is doubted."));
    },
  };
}

function counted(count, one, rest = "") {
  return `${count} ${one}${count === 1 ? "" : "s"}${rest ? ` ${rest}` : ""}`;
}

function tally(findings) {
  if (!findings.length) return "no doubts";
  return GRAVEST.map((severity) => [severity, findings.filter((finding) => finding.severity === severity).length])
    .filter(([, count]) => count)
    .map(([severity, count]) => counted(count, severity))
    .join(", ");
}

// One value of the recipe: its name, a box that takes what people write, its ruler, and what is doubted about it.

import { doubtLine } from "./doubts.js";
import { chosen, el, mark, say } from "./element.js";
import { ruler, written } from "./ruler.js";
import { leftOut } from "./words.js";

const LONG = 14; // letters of a choice that stand beside its name
const TYPING_MS = 120; // a pause as between two letters: then the glance is asked for

/** `hand` = {edit(key, text, {final, hold, further}), hold(field|null), mend(changes)}. Returns {element, show(field, ...)}. */
export function fieldRow(first, hand) {
  const id = `field-${first.key.replace(/\W+/g, "-")}`;
  const hold = { key: first.key, since: 0 };
  let field = first;
  const numbers = new Map(); // of texts that the tape wrote, for a step back to one of them
  let last = null; // what was shown: a glance alters few fields of many
  const sentence = el("span", { id: `${id}-about`, class: "unseen" });
  const control = controlOf(first, id);
  const unit = el("small", { class: "unit", "aria-hidden": "true" }); // the tape's: what is written may be in another
  const label = el("label", { for: id }, first.label, " ", hasRuler(first) ? unit : null);
  const tape = hasRuler(first) ? ruler(first.key, first.label, tapeHand()) : null;
  const doubts = doubtLine(hand);
  control.setAttribute("aria-describedby", `${sentence.id} ${doubts.element.id}`);
  const kind = tape ? "field" : control.tagName === "SELECT" && widest(first) > LONG ? "field long" : "field plain";
  const element = el("div", { class: kind, "data-field": first.key }, label, control);
  element.append(...[namesOf(first, control), tape?.element, doubts.element, sentence].filter(Boolean));

  function tapeHand() {
    return {
      onMove(number, further) {
        const text = written(number, field);
        numbers.set(text, number);
        hand.edit(field.key, text, { final: false, hold: holdName(), further: written(further, field) });
        control.value = text;
      },
      onRest: () => hand.rest(),
      onHold: (on) => held(on),
    };
  }

  const holdName = () => `${hold.key} ${hold.since}`;

  function held(on) {
    element.classList.toggle("held", on);
    if (on) hold.since += 1;
    hand.hold(on ? field : null);
  }

  listen(control, { edit: typed, held, put: () => hand.rest() });

  function typed(value, final) {
    const text = value.trim() === "" ? null : value.trim();
    hand.edit(field.key, text, { final, hold: holdName() });
  }

  return {
    element,
    key: first.key,
    /** `changed` is what the hand wrote and nobody answered yet, undefined where there is no such thing. */
    show(shown, { changed, findings, refusal }) {
      const same = last && last.shown === shown && last.changed === changed && last.refusal === refusal;
      if (
        same &&
        last.findings.length === findings.length &&
        findings.every((one, index) => one === last.findings[index])
      )
        return;
      last = { shown, changed, findings, refusal };
      field = shown;
      say(sentence, aboutOf(field));
      const busy = document.activeElement === control && control.dataset.dirty;
      const value = changed === undefined ? shownValue(field) : (changed ?? "");
      if (control.type === "checkbox") control.checked = value === "true" || (value === "" && field.default === "true");
      else if (!busy && control.value !== value) setValue(control, value, field);
      if (control.tagName === "INPUT" && control.type === "text") mark(control, "placeholder", field.default ?? "");
      say(unit, field.unit && `(${field.unit})`);
      tape?.show(field, { keep: changed !== undefined, number: numbers.get(changed) });
      mark(control, "aria-invalid", String(Boolean(refusal)));
      doubts.show(field, { findings, refusal });
    },
  };
}

const widest = ({ choices }) => Math.max(...choices.map((choice) => choice.length));

export function hasRuler(field) {
  return typeof field.low === "number" && typeof field.high === "number" && field.step > 0 && !field.choices?.length;
}

function shownValue(field) {
  return field.value ?? "";
}

/** What it is, and between what: for the line that is read while it is held. */
export function aboutOf(field) {
  const parts = [field.sentence?.replace(/[^.]$/, "$&.")];
  if (hasRuler(field)) parts.push(`From ${written(field.low, field)} to ${written(field.high, field)}.`);
  if (field.default && !field.choices) parts.push(leftOut(field).replace(/^./, (first) => first.toUpperCase()).concat("."));
  return parts.filter(Boolean).join(" ");
}

function controlOf(field, id) {
  const common = { id, "data-key": field.key };
  if (field.choices?.length && field.kind !== "text") {
    const left = ["", field.default ? leftOut(field) : "left out"];
    return chosen(null, [left, ...field.choices.map((choice) => [choice, choice.replaceAll("_", " ")])], common);
  }
  if (field.kind === "switch") return el("input", { type: "checkbox", ...common });
  const numeric = hasRuler(field) ? { class: "figure" } : {};
  return el("input", {
    type: "text",
    autocomplete: "off",
    spellcheck: "false",
    enterkeyhint: "done",
    ...common,
    ...numeric,
  });
}

/** Names that a free text may have, for the browser to offer. */
function namesOf(field, control) {
  if (field.kind !== "text" || !field.choices?.length) return null;
  control.setAttribute("list", `${control.id}-names`);
  return el("datalist", { id: `${control.id}-names` }, ...field.choices.map((value) => el("option", { value })));
}

function setValue(control, value, field) {
  if (control.tagName === "SELECT" && value && !field.choices.includes(value))
    control.append(el("option", { value }, value));
  control.value = value;
}

function listen(control, { edit, held, put }) {
  let pause = 0;
  const value = () => (control.type === "checkbox" ? String(control.checked) : control.value);
  control.addEventListener("focus", () => held(true));
  control.addEventListener("blur", () => {
    delete control.dataset.dirty;
    held(false);
  });
  if (control.type === "text") {
    control.addEventListener("input", () => {
      control.dataset.dirty = "yes";
      clearTimeout(pause);
      pause = setTimeout(() => edit(value(), false), TYPING_MS);
    });
    control.addEventListener("keydown", (event) => {
      if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z" || !control.dataset.dirty) return;
      clearTimeout(pause); // what was just typed is the step that is taken back
      edit(value(), false);
    });
  }
  control.addEventListener("change", () => {
    clearTimeout(pause);
    delete control.dataset.dirty;
    edit(value(), true);
    put();
  });
}

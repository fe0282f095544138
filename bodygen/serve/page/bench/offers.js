// Offers: ballast for a float, a lip for a depth, what to do after the tub. Each with what it would make of the bait.

import { fetched } from "../asks.js";
import { box, button, chosen, el, inUnits, labelled, sheet, unbroken } from "./element.js";
import { wordsOf } from "./shelf.js";
import { DOES, here, mistake, ofBox } from "./words.js";

// `as`: how it may be written, in millimetres and in inches
const words = (name, label, as, note = "") => ({ name, label, as: [as].flat(), note });
const one = (name, label, choices) => ({ name, label, choices });
const BETWEEN = [words("low", "From", ["1.2 m", "4 ft"]), words("high", "To", ["1.5 m", "5 ft"])];

export const KINDS = {
  ballast: {
    title: DOES.ballast,
    goes: "goal",
    about: "Which bore, how deep, how much metal. What is left empty here is as the recipe's goal has it.",
    fields: [
      words("reserve", "To spare", "2 g", "what it still carries when pushed under"),
      words("pitch", "Nose up", "6 deg", "at rest; down is minus"),
      one("bores", "Bores", ["given", "one", "two"]),
      words("metal", "Metal", "any"),
    ],
  },
  dive: {
    title: DOES.dive,
    about: "What makes it run between two depths: lip, tie or line.",
    fields: BETWEEN,
  },
  lip: {
    title: DOES.lip,
    about: "Which lip runs between two depths, all else as it is.",
    fields: BETWEEN,
  },
  trim: {
    title: DOES.trim,
    about: "It was floated, and lies otherwise than it should: say what you saw, and nothing that you did not look at.",
    fields: [
      words("nose", "Nose", "8 deg", "at rest, up; down is minus"),
      words("lean", "Leans", "3 deg", "right side up"),
      words("back_height", "Back above the water", ["3 mm", "1/8 in"]),
      words("at", "… there, from the nose", ["35 mm", "1-3/8 in"]),
      words("spare", "Takes it just under", "1.4 g"),
      words("rises", "Rises", ["300 mm in 4 s", "1 ft in 4 s"]),
      words("sinks", "Sinks", ["300 mm in 4 s", "1 ft in 4 s"]),
      one("stage", "Floated when", ["rigged", "cleared", "painted", "sealed", "ballast"]),
    ],
  },
};

/** `ask()` gives {text, file, tab} of the bait in hand; `put(offer)` puts one in; `place` and `lead` are the bench's. */
export function offersSheet(kind, { ask, units, put, place, lead }) {
  const { title, about, fields } = KINDS[kind];
  const controls = fields.map((field) => [field, controlOf(field, units)]);
  const labels = { aim: "From, to", ...Object.fromEntries(fields.map(({ name, label }) => [name, label])) };
  const said = el("div", { class: "said", role: "status" });
  const list = el("ol", { class: "offers" });
  const submit = el("button", {}, "What would do it?");
  const form = el(
    "form",
    { class: "asking" },
    ...controls.map(([field, control]) => labelled(field.label, control, field.note)),
    submit,
  );
  const paper = sheet(`${title}: offers`, el("p", {}, about), form, said, list);
  let stop = null;

  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    stop?.abort();
    stop = new AbortController();
    const saidHere = Object.fromEntries(
      controls.map(([{ name }, control]) => [name, control.value.trim()]).filter(([, value]) => value),
    );
    list.classList.add("faint");
    said.textContent = "It is being worked out. To close this gives it up.";
    try {
      const { body } = await fetched("offers", { kind, said: saidHere, ...ask() }, { signal: stop.signal });
      show(body);
    } catch (error) {
      if (error.name !== "AbortError") said.textContent = "The server is gone; ask again when it is back.";
    }
    list.classList.remove("faint");
  });
  paper.dialog.addEventListener("close", () => {
    if (!stop) return;
    stop.abort();
    fetched("forget", { tab: ask().tab }).catch(() => {});
  });

  function show(body) {
    const found = body.offers ?? [];
    const sentences = body.sentences ?? [];
    const none = found.length || sentences.length ? [] : body.refused ? body.refused.flatMap(refusal) : [wordsOr(body)];
    said.replaceChildren(...sentences.concat(none).map((one) => (typeof one === "string" ? el("p", {}, here(one)) : one)));
    list.replaceChildren(
      ...found.map((offer) =>
        offerOf(offer, () => {
          paper.close();
          put(offer);
        }),
      ),
    );
    list.querySelector("button")?.focus();
  }

  /** What was not understood, by the name that its box has here; of a value of the recipe, the way to it. */
  function refusal(one) {
    const asked = ofBox(one, labels);
    if (asked) return asked;
    const key = one.key || KINDS[kind].goes;
    if (one.line || one.wrote) return mistake(one);
    if (!key) return one.message; // what is accepted is what the boxes here are for
    const where = place(key);
    if (!where || where.key === key) return mistake(one); // else it is a table that is not there
    const show = () => {
      paper.close();
      lead(key);
    };
    return [`${one.message} Say it in ${where.title}, ${key}${one.key ? "" : ", or here"}.`, button(`Show ${key}`, show)];
  }

  controls[0][1].focus();
  return paper;
}

function wordsOr(body) {
  return body.error ? wordsOf(body) : "Nothing that can be changed here does that.";
}

function controlOf({ name, as, choices }, units) {
  if (!choices) return box(name, inUnits(units, ...as));
  return chosen(name, [["", "as the recipe has it"], ...choices]);
}

function offerOf({ title, sentences = [], changes, text, toml }, put) {
  const can = (changes && Object.keys(changes).length) || text || toml;
  const rows = Object.entries(changes ?? {}).map(([key, value]) => el("li", {}, `${key} = ${value ?? "taken out"}`));
  return el(
    "li",
    {},
    el("h3", {}, title),
    ...sentences.map((sentence) => el("p", {}, unbroken(sentence))),
    rows.length ? el("ul", { class: "changes" }, rows) : null,
    can
      ? button("Put it in", put)
      : el("p", {}, el("small", {}, "To be done by hand; no value of the recipe says it.")),
  );
}

// Into the bench log: what the scale read at each step, and what the tub and the water showed.

import { fetched } from "../asks.js";
import { box, chosen, el, inUnits, labelled, sheet } from "./element.js";
import { wordsOf } from "./shelf.js";
import { ofBox } from "./words.js";

// name, label, and how it may be written: in millimetres, in inches
const TUB = [
  ["water", "Water", "11 degC", "52 degF"],
  ["nose", "Nose up at rest", "6 deg"],
  ["reserve", "Still carries", "2.4 g"],
];
const WATER = [
  ["depth", "Ran this deep", "2.1 m", "7 ft"],
  ["line", "Line", "0.28 mm", "0.011 in"],
  ["line_out", "Line out", "20 m", "65 ft"],
  ["speed", "Speed", "1.2 m/s", "2.5 mph"],
  ["tip", "Rod's tip above the water", "1 m", "3 ft"],
];

const BOARD = "A new build of this board";
const STATE = "In the water it";
const LABELS = { start: BOARD, water_test: STATE, ...Object.fromEntries([...TUB, ...WATER]) };

/** `ask()` gives {text, file} of the bait in hand, `readings()` what stands in the boxes of the scale. */
export function readingsSheet({ ask, units, readings }) {
  const row = ([name, label, ...as]) => labelled(label, box(name, inUnits(units, ...as)));
  const state = chosen("state", [["", "not floated yet"], "floats", "suspends", "sinks"]);
  const weighed = readings();
  const list = Object.entries(weighed).map(([stage, mass]) => el("li", {}, `${stage}: ${mass}`));
  const said = el("p", { class: "said", role: "status" });
  const form = el(
    "form",
    { class: "asking" },
    el(
      "fieldset",
      {},
      el("legend", {}, "The build"),
      labelled(BOARD, box("start", "the pale board"), "left empty, the last build goes on"),
      labelled("Remark", box("remark"), "anything worth remembering"),
    ),
    el(
      "fieldset",
      {},
      el("legend", {}, "On the scale"),
      list.length ? el("ul", {}, list) : el("p", {}, "Nothing stands in the boxes of the scale yet."),
    ),
    el("fieldset", {}, el("legend", {}, "In the tub"), labelled(STATE, state), ...TUB.map(row)),
    el("fieldset", {}, el("legend", {}, "On the line"), ...WATER.map(row)),
    el("button", {}, "Write it down"),
    said,
  );
  const paper = sheet("Into the bench log", form);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const written = Object.fromEntries(
      [...new FormData(form)].map(([name, value]) => [name, value.trim()]).filter(([, value]) => value),
    );
    try {
      const { status, body } = await fetched("log", { ...ask(), ...written, weighed });
      const done = status === 200 && !body.refused;
      said.textContent = done ? [...(body.sentences ?? []), ...(body.log ?? [])].join("\n") : refusals(body);
    } catch {
      said.textContent = "The server is gone; nothing was written. Try again when it is back.";
    }
  });
  form.querySelector("input").focus();
  return paper;
}

/** What was not taken, by the names of the boxes here. */
function refusals(body) {
  if (!body.refused) return wordsOf(body);
  return body.refused.map((one) => ofBox(one, LABELS) ?? (one.accepted?.includes("--start") ? noBuild(one) : wordsOf({ refused: [one] }))).join("\n");
}

const noBuild = ({ message }) => `${message}: say in “${BOARD}” which board it is.`;

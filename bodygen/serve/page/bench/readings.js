// Into the bench log: what the scale read at each step, and what the tub and the water showed.

import { fetched } from "../asks.js";
import { el, labelled, sheet } from "./element.js";
import { wordsOf } from "./shelf.js";

const TUB = [
  ["water", "Water", "11 degC"],
  ["nose", "Nose up at rest", "6 deg"],
  ["reserve", "Still carries", "2.4 g"],
];
const WATER = [
  ["depth", "Ran this deep", "2.1 m"],
  ["line", "Line", "0.28 mm"],
  ["line_out", "Line out", "20 m"],
  ["speed", "Speed", "1.2 m/s"],
  ["tip", "Rod's tip above the water", "1 m"],
];

/** `ask()` gives {text, file} of the bait in hand, `readings()` what stands in the boxes of the scale. */
export function readingsSheet({ ask, readings }) {
  const box = ([name, label, placeholder]) =>
    labelled(label, el("input", { type: "text", name, placeholder, autocomplete: "off" }));
  const state = el(
    "select",
    { name: "state" },
    el("option", { value: "" }, "not floated yet"),
    ...["floats", "suspends", "sinks"].map((value) => el("option", { value }, value)),
  );
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
      box(["start", "A new build of this board", "leave empty: the last one goes on"]),
      box(["remark", "Remark", "anything worth remembering"]),
    ),
    el(
      "fieldset",
      {},
      el("legend", {}, "On the scale"),
      list.length ? el("ul", {}, list) : el("p", {}, "Nothing stands in the boxes of the scale yet."),
    ),
    el("fieldset", {}, el("legend", {}, "In the tub"), labelled("It", state), ...TUB.map(box)),
    el("fieldset", {}, el("legend", {}, "On the line"), ...WATER.map(box)),
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
      said.textContent = done ? [...(body.sentences ?? []), ...(body.log ?? [])].join("\n") : wordsOf(body);
    } catch {
      said.textContent = "The server is gone; nothing was written. Try again when it is back.";
    }
  });
  form.querySelector("input").focus();
  return paper;
}

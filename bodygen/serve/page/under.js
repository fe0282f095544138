// A second bait, laid under the drawing in pale ink: chosen from folder and demos, or dropped on the page. A scan is
// laid over it instead, and told how far it departs.

import { asker, fetched } from "./asks.js";
import { el, say, shelved } from "./bench/element.js";
import { wordsOf } from "./bench/shelf.js";
import { second as keptSecond } from "./kept.js";
import { asTold, laidIn, laidScan } from "./laid.js";

/** Into `element` goes the choice, into `says` how far a scan departs. `read()` gives the state, `put(under)` takes {name, text, answer} or null, `tell` says what went wrong. */
export function secondBait({ element, says }, { tab, read, put, tell }) {
  const choice = el("select", { id: "under-choice" });
  const label = element.firstElementChild;
  element.append(choice);
  choice.addEventListener("change", () => lay(dropped.get(choice.value) ?? (choice.value || null)));
  const asks = asker({ tab: `${tab}-under`, quiet: true, onAnswer: answered, onGone() {}, onError: tell });
  const dropped = new Map(); // by name: what is in no file of the folder

  /** A name of the folder or the shelf, {name, text} of a recipe, a scan as `laidScan` makes it, or nothing. */
  async function lay(second) {
    if (typeof second === "string") {
      const { status, body } = await fetched(`recipe?file=${encodeURIComponent(second)}`).catch(() => ({}));
      if (status !== 200) return tell(body ? wordsOf(body) : "The server is gone.");
      put({ name: second, file: second, text: body.text, answer: null });
    } else {
      if (second) dropped.set(second.name, second);
      put(second && { ...second, answer: null });
    }
    says.parentElement.scrollTop = 0; // what it says stands first there
    keptSecond.set(second?.places ? asTold(second) : second);
    chosen(read().under);
    return ask();
  }

  /** What was laid here before the page was loaded anew. */
  function again() {
    const second = keptSecond.get();
    if (second) lay(second.places ? laidScan(second) : second);
  }

  function ask() {
    const { under, answer, view, section_x_mm } = read();
    if (under?.places) {
      put({ ...under, answer: laidIn(under, view, section_x_mm ?? answer?.drawing?.section_x_mm ?? 0) });
      measure();
    }
    if (!under?.text) return;
    asks.ask({
      want: "glance",
      asked: { text: under.text, changes: {} },
      file: under.file ?? null,
      view,
      section_x_mm,
    });
  }

  function answered(answer) {
    const { under } = read();
    if (answer.refused) tell(`What was to lie under it is not understood: ${answer.refused[0].message}`);
    else if (under) put({ ...under, answer });
  }

  /** How far a scan departs from the bait as it is now, where that is not told yet: it stays where it was laid. */
  async function measure() {
    const { under, answer, file } = read();
    if (!under?.places || !answer || under.of === answer.text) return;
    const { text } = answer;
    const { status, body } = await fetched("departs", { text, file, places: under.places }).catch(() => ({}));
    const now = read();
    if (now.under?.places !== under.places || now.answer?.text !== text) return;
    if (status === 200 && !body.refused) put({ ...now.under, sentence: body.sentence, of: text });
  }

  function show({ under, answer }) {
    say(says, under?.places ? `${under.name}: ${[under.sentence, ...under.sentences].join("; ")}.` : "");
    say(label, under?.places ? "Laid over it" : "Laid under it");
    says.classList.toggle("faint", Boolean(under?.places) && under.of !== answer?.text);
  }

  function offer(shelf) {
    const now = choice.value;
    const more = [...dropped.keys()].map((name) => el("option", { value: name }, name));
    choice.replaceChildren(el("option", { value: "" }, "nothing"), ...shelved(shelf), ...more);
    choice.value = now;
    if (choice.selectedIndex < 0) choice.value = "";
  }

  function chosen(under) {
    if (under && ![...choice.options].some((option) => option.value === under.name))
      choice.append(el("option", { value: under.name }, under.name));
    choice.value = under?.name ?? "";
  }

  return { offer, lay, again, ask, measure, show };
}

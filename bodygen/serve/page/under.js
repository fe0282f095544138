// A second bait, laid under the drawing in pale ink: chosen from folder and demos, or dropped on the page.

import { asker, fetched } from "./asks.js";
import { el } from "./bench/element.js";
import { wordsOf } from "./bench/shelf.js";

/** `read()` gives the state, `put(under)` takes {name, text, answer} or null, `tell` says what went wrong. */
export function secondBait(element, { tab, read, put, tell }) {
  const choice = el("select", { id: "under-choice" });
  element.append(choice);
  choice.addEventListener("change", () => lay(choice.value || null));
  const asks = asker({ tab: `${tab}-under`, quiet: true, onAnswer: answered, onGone() {}, onError: tell });
  let dropped = null;

  /** A name of the folder or the shelf, {name, text} of a recipe, {name, drawing} of a mesh, or nothing. */
  async function lay(second) {
    if (typeof second === "string") {
      const { status, body } = await fetched(`recipe?file=${encodeURIComponent(second)}`).catch(() => ({}));
      if (status !== 200) return tell(body ? wordsOf(body) : "The server is gone.");
      put({ name: second, file: second, text: body.text, answer: null });
    } else {
      put(second && { ...second, answer: second.drawing ? second : null });
    }
    chosen(read().under);
    return ask();
  }

  function ask() {
    const { under, view, section_x_mm } = read();
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

  function offer(shelf) {
    const now = choice.value;
    const others = [...shelf.recipes, ...shelf.demos];
    const rows = others.map(({ file, name }) => el("option", { value: file }, name || file));
    choice.replaceChildren(el("option", { value: "" }, "nothing"), ...rows, ...(dropped ? [dropped] : []));
    choice.value = now;
    if (choice.selectedIndex < 0) choice.value = "";
  }

  function chosen(under) {
    if (under && ![...choice.options].some((option) => option.value === under.name)) {
      dropped = el("option", { value: under.name }, under.name);
      choice.append(dropped);
    }
    choice.value = under?.name ?? "";
  }

  return { offer, lay, ask };
}

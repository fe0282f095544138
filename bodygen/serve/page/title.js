// The first band: what it is, what it will do, what is not saved, back and forward; and the ink it is drawn in.

import { button, chosen, el, mark, say, unbroken } from "./bench/element.js";
import { isFaint, mistake } from "./bench/words.js";
import { wish } from "./kept.js";

const TELL_MS = 12000;
const GONE =
  "The server is gone. What you change is kept in this browser; start bodygen serve in the same folder, and this page goes on by itself.";
const MOVED =
  "The server has another address now. What you changed is kept: open the address that it printed, and look on the shelf.";

/** `place(id)` finds an element, `act` = {back, forward, shelf, save, text, files, log, offer(kind), kinds}. */
export function titleBand(place, act) {
  const key = /Mac|iPhone|iPad/.test(navigator.platform) ? "⌘" : "Ctrl+";
  const shelf = button("Shelf", act.shelf);
  const back = button("Back", act.back, { title: `${key}Z`, "aria-keyshortcuts": "Control+Z" });
  const forward = button("Forward", act.forward, { title: `${key}Shift+Z`, "aria-keyshortcuts": "Control+Shift+Z" });
  const save = button("Save", act.save, { title: `${key}S`, "aria-keyshortcuts": "Control+S" });
  const rest = [button("Files", act.files), button("As text", act.text), inkChoice()];
  place("tools").append(shelf, back, forward, save, ...rest);
  const offers = Object.entries(act.kinds).map(([kind, { title }]) =>
    button(title, () => act.offer(kind), { "data-offer": kind }),
  );
  place("offers").append(el("span", {}, "What would do it:"), ...offers, button("Bench log", act.log));
  let telling = 0;

  function tell(sentence) {
    clearTimeout(telling);
    say(place("told"), unbroken(sentence));
    telling = setTimeout(() => say(place("told"), ""), TELL_MS);
  }

  function show(state, { unsaved, notSaved, room }) {
    const name = state.answer?.name ?? "bodygen";
    say(place("name"), name);
    const title = `${unsaved ? "* " : ""}${name}`;
    if (document.title !== title) document.title = title;
    say(place("sentence"), unbroken(state.answer?.sentence ?? state.refused.map(mistake)[0] ?? ""));
    place("sentence").classList.toggle("faint", Boolean(state.answer) && isFaint(state, "sentence"));
    say(place("state"), stateWords(state, unsaved, room));
    mark(document.body, "data-gone", String(Boolean(state.gone)));
    // not `disabled`: the keyboard would lose its place
    mark(back, "aria-disabled", String(!state.past.length));
    mark(forward, "aria-disabled", String(!state.future.length));
    save.classList.toggle("wanted", unsaved);
    say(shelf, notSaved ? `Shelf (${notSaved} not saved)` : "Shelf");
  }

  return { show, tell };
}

function stateWords(state, unsaved, room) {
  if (state.gone) return state.gone === "moved" ? MOVED : GONE;
  if (!state.text) return "";
  if (state.refused.length) return refusedWords(state);
  if (state.file === null && !unsaved)
    return state.born.startsWith("demo:") ? "a demo bait; nothing to save" : "not saved";
  const kept = room ? "kept in this browser" : "the browser has no room to keep it";
  if (unsaved) return `not saved${state.file ? `: ${state.file}` : ""}; ${kept}`;
  return `saved: ${state.file}`;
}

function refusedWords({ refused, answer }) {
  const [{ key, line }] = refused;
  const what = key || (line ? `Line ${line}` : "The recipe");
  return `${what} is refused; ${answer ? "the picture is that of before" : "As text shows it, to be mended there"}.`;
}

function inkChoice() {
  const names = { "": "paper as the system", light: "white paper", dark: "black paper" };
  const choice = chosen(null, Object.entries(names), { "aria-label": "Paper" });
  const put = () => {
    if (choice.value) document.documentElement.dataset.theme = choice.value;
    else delete document.documentElement.dataset.theme;
  };
  choice.value = wish.get("theme") ?? "";
  choice.addEventListener("change", () => {
    wish.set("theme", choice.value);
    put();
  });
  put();
  return choice;
}

// Saving: keeps comments, and never writes over a file that changed without asking.

import { fetched } from "../asks.js";
import { asked, button, el, labelled, sheet } from "./element.js";
import { wordsOf } from "./shelf.js";

/** Save; resolves to {file, sha256, text} of what lies in the file now, null where nothing was written. */
export async function save(state, { name, tell, adopt }) {
  const file = state.file ?? (await fileFor(name));
  if (!file) return null;
  return put(
    {
      file,
      text: state.text,
      before: state.file === null ? null : state.sha256,
      mine: state.file !== null,
      from: state.born,
    },
    { tell, adopt },
  );
}

async function put(wanted, { tell, adopt }) {
  const { file, text, before, mine, from } = wanted;
  const { status, body } = await fetched("save", { file, text, sha256_before: before, from });
  if (status === 200) return { file: body.file, sha256: body.sha256, text };
  if (status !== 409 || !body.conflict) {
    tell(wordsOf(body));
    return null;
  }
  const { conflict } = body;
  const choice = await asked(...questionOf(file, mine, !conflict.sha256));
  if (choice === "look") {
    await differing(conflict.text, text);
    return put(wanted, { tell, adopt });
  }
  if (choice === "mine") return put({ ...wanted, before: conflict.sha256 || null }, { tell, adopt });
  if (choice === "theirs") {
    adopt({ file, text: conflict.text, sha256: conflict.sha256 });
    return null;
  }
  if (choice === "other") {
    const other = await fileFor(file.replace(/\.toml$/, "-2"));
    return other ? put({ ...wanted, file: other, before: null, mine: false }, { tell, adopt }) : null;
  }
  return null;
}

/** Title, sentence and answers where the file is not as it was read; `away`: it is not there any more. */
function questionOf(file, mine, away) {
  if (away) {
    const sentence = `${file} is no longer in the folder: it was taken out or renamed since it was read here.`;
    return ["The file is gone", [sentence], [["Write it anew", "mine"], ["Save under another name", "other"]]];
  }
  const sentence = mine
    ? `${file} was changed by somebody else since it was read here (another window, or an editor). Nothing was written.`
    : `There is a ${file} already. Nothing was written.`;
  const answers = [
    ["Keep both: save mine under another name", "other"],
    ["Show what differs", "look"],
    ["Take the file's, mine stays one step back", "theirs"],
    ["Write mine over it", "mine"],
  ];
  return ["The file has changed", [sentence], answers];
}

/** Ask under which file name. */
function fileFor(name) {
  return new Promise((resolve) => {
    let chosen = null;
    const box = el("input", {
      type: "text",
      value: `${stemOf(name)}.toml`,
      required: true,
      pattern: ".*\\.toml",
      autocomplete: "off",
    });
    const form = el(
      "form",
      { class: "asking" },
      labelled("File", box, "in the opened folder; ends in .toml"),
      el("button", {}, "Save"),
    );
    const paper = sheet("Save as", form);
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      chosen = box.value.trim();
      paper.close();
    });
    box.focus();
    box.setSelectionRange(0, box.value.length - 5);
    paper.dialog.addEventListener("close", () => resolve(chosen));
  });
}

export function stemOf(name) {
  return (
    name
      .toLowerCase()
      .replace(/[^\p{L}\p{N}]+/gu, "-")
      .replace(/^-|-$/g, "") || "bait"
  );
}

/** Lines that only one of two texts has. */
export function differences(theirs, mine) {
  const [a, b] = [theirs.split("\n"), mine.split("\n")];
  const only = (lines, others) => {
    const left = new Map();
    for (const line of others) left.set(line, (left.get(line) ?? 0) + 1);
    return lines.filter((line) => {
      const count = left.get(line) ?? 0;
      left.set(line, count - 1);
      return count <= 0 && line.trim();
    });
  };
  return { theirs: only(a, b), mine: only(b, a) };
}

function differing(theirs, mine) {
  return new Promise((resolve) => {
    const lines = differences(theirs, mine);
    const column = (title, text) =>
      el("section", {}, el("h3", {}, title), el("pre", { tabindex: "0" }, text.join("\n") || "nothing of its own"));
    const paper = sheet(
      "What differs",
      el("div", { class: "two" }, column("Only in the file", lines.theirs), column("Only on this page", lines.mine)),
    );
    paper.body.append(el("div", { class: "answers" }, button("Back to the choice", () => paper.close())));
    paper.dialog.addEventListener("close", resolve);
  });
}

let unfinished = null; // {text, written}: what was not taken over when the sheet was closed, as by a wrong key

/** The recipe as text, for what has no field. */
export function textSheet(text, put) {
  let taken = false;
  const box = el("textarea", { spellcheck: "false", "aria-label": "the recipe as text", rows: 24 });
  const before = unfinished?.text === text && unfinished.written;
  box.value = before || text;
  const paper = sheet(
    "The recipe as text",
    el("p", {}, "Another bore, hook or coat is a table more. Taking it over is one step back, too."),
    before && el("p", {}, "What you wrote here before and did not take over is still there."),
    box,
  );
  paper.dialog.addEventListener("close", () => {
    unfinished = taken || box.value === text ? null : { text, written: box.value };
  });
  const said = el("p", { class: "said", role: "alert" });
  const take = button("Take it over", () => {
    if (!box.value.trim()) {
      said.textContent = "There is no text to take over.";
      return;
    }
    taken = true;
    paper.close();
    if (box.value !== text) put(box.value);
  });
  paper.body.append(el("div", { class: "answers" }, take), said);
  box.focus();
  box.setSelectionRange(0, 0); // from its beginning
  box.scrollTop = 0;
}

// The shelf: recipes of the folder, edits that were kept, demos, a new one, and what is copied from a photo or a scan.

import { fetched } from "../asks.js";
import { box, button, chosen, el, labelled, sheet, shelved } from "./element.js";
import { mistake } from "./words.js";

/** `on` = {open(file), restore(found), fresh(text, born, name), drop(file)}; `kept` = edits that nobody has in hand. */
export function shelfSheet(shelf, kept, on) {
  const paper = sheet("The shelf");
  const then = (act) => () => {
    paper.close();
    act();
  };
  const line = (name, note, act) => el("li", {}, button(name, then(act), { class: "line" }), el("small", {}, note));

  const left = kept.map((found) =>
    line(keptName(found.entry), `not saved, ${dayOf(found.entry.when)}`, () => on.restore(found)),
  );
  const recipes = shelf.recipes.map(({ file, name, changed }) =>
    line(name || file, [file, changed && dayOf(changed)].filter(Boolean).join(", "), () => on.open(file)),
  );
  const demos = shelf.demos.map(({ file, name, sentence }) => line(name, (sentence ?? "").replace(`${name}: `, ""), () => on.open(file)));
  paper.body.append(
    left.length ? section("Not saved yet", el("ul", { class: "shelf" }, left)) : "",
    section(
      "In this folder",
      el("p", { class: "path" }, shelf.folder),
      recipes.length
        ? el("ul", { class: "shelf" }, recipes)
        : el("p", {}, "No recipe lies here yet. Begin a new one, or change a demo and save it."),
    ),
    section("A new one", newForm(shelf, paper, on)),
    section(
      "Demo baits, to try things on",
      el("p", {}, "All of them invented; nothing is saved until you say so."),
      el("ul", { class: "shelf" }, demos),
    ),
    section("Copy one that is there", dropForm(shelf, paper, on)),
  );
  return paper;
}

const section = (title, ...children) => el("section", {}, el("h3", {}, title), ...children);

export function keptName(entry) {
  const [, name] = entry.text.match(/^name\s*=\s*"(.*?)"/m) ?? [];
  return [name, entry.file].filter(Boolean).join(", ") || "a bait";
}

function dayOf(when) {
  const day = new Date(typeof when === "number" && when < 1e11 ? when * 1000 : when);
  return Number.isNaN(day.valueOf())
    ? String(when)
    : day.toLocaleString([], { dateStyle: "medium", timeStyle: "short" });
}

function newForm(shelf, paper, on) {
  const name = box("name", "Evening bleak");
  name.required = true;
  const size = box("size", "as it is");
  const units = chosen("units", [
    ["mm", "millimetres"],
    ["in", "inches"],
  ]);
  const from = chosen("from", [["", "the starter"]]);
  from.append(...shelved(shelf));
  const said = el("p", { class: "said", role: "alert" });
  const fields = [
    labelled("Name", name),
    labelled("From", from, "its proportions"),
    labelled("Length", size, '"3 in" or "80 mm"'),
    labelled("Units", units, "of the starter"),
  ];
  const form = el("form", { class: "asking" }, ...fields, el("button", {}, "Begin it"), said);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const wanted = {
      name: name.value.trim(),
      units: units.value,
      size: size.value.trim() || undefined,
      from: from.value || undefined,
    };
    try {
      const { status, body } = await fetched("new", wanted);
      if (status !== 200 || body.refused) {
        said.textContent = wordsOf(body);
        return;
      }
      paper.close();
      on.fresh(body.text, "new", body.file);
    } catch {
      said.textContent = "The server is gone; begin it when it is back.";
    }
  });
  return form;
}

/** What a server said that was no answer, as one text. */
export function wordsOf(body) {
  return body.error ?? body.refused?.map(mistake).join("\n") ?? "The server does not do that.";
}

function dropForm({ extras = {} }, paper, on) {
  const file = el("input", {
    type: "file",
    accept: ".toml,.csv,.stl,.3mf,.ply,.obj,.jpg,.jpeg,.png",
    "aria-label": "a photo, a scan, a table of readings or a recipe",
  });
  file.addEventListener("change", () => {
    if (!file.files.length) return;
    const [chosen] = file.files;
    paper.close();
    on.drop(chosen);
  });
  const missing = ["photo", "scan"].filter((name) => extras[name] === false);
  const note = missing.length
    ? el("p", {}, `Not installed here: ${missing.join(", ")} (pip install 'bodygen[${missing.join(",")}]').`)
    : null;
  const about =
    "A photo on the printed page, a scan of the bait, a table of calliper readings: choose it here, or drop it anywhere on the page.";
  return el("div", {}, el("p", {}, about), note, file);
}

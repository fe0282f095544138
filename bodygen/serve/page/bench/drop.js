// A photo, a scan, a table or a recipe let go over the page, or chosen from the shelf.

import { fetched } from "../asks.js";
import { laidScan } from "../laid.js";
import { asked, box, chosen, el, labelled, sheet } from "./element.js";
import { wordsOf } from "./shelf.js";

const SCAN = /\.(stl|obj|ply|3mf|off)$/i;
const LARGEST = 64e6; // bytes, as the server takes them

/**
 * `on` = {open(file), fresh(text, born), under({name, text} or a scan), read() gives {file, text} of the bench, tab,
 * tell(sentence)}. Returns the function that takes a file.
 */
export function dropping(on) {
  const veil = el(
    "div",
    { class: "veil", hidden: true },
    el("p", {}, "Let go: a recipe, a photo, a scan, or a table of readings"),
  );
  document.body.append(veil);
  const carries = (event) => event.dataTransfer?.types.includes("Files");
  addEventListener("dragover", (event) => {
    if (!carries(event)) return;
    event.preventDefault();
    veil.hidden = false;
  });
  addEventListener("dragleave", (event) => event.relatedTarget === null && (veil.hidden = true));
  addEventListener("drop", (event) => {
    if (!carries(event)) return;
    event.preventDefault();
    veil.hidden = true;
    if (event.dataTransfer.files.length) take(event.dataTransfer.files[0]);
  });

  async function take(file) {
    if (file.size > LARGEST) {
      on.tell(`${file.name} is larger than 64 MB; nothing was read.`);
      return;
    }
    if (file.name.toLowerCase().endsWith(".toml")) {
      await recipe(file);
      return;
    }
    if (SCAN.test(file.name) && on.read().text) {
      const choice = await asked(file.name, ["What is to be done with this scan?"], [
        ["Trace it into a recipe", "trace"],
        ["Lay it over the one on the bench", "over"],
      ]);
      if (choice === "over") await over(file);
      if (choice !== "trace") return;
    }
    const said = /\.(jpe?g|png)$/i.test(file.name) ? await photograph(file.name) : {};
    if (!said) return;
    const body = await answerOf(file, "drop", file, said);
    if (body?.over) on.under(body.over);
    else if (body) {
      await on.open(body.file);
      sheet(`${file.name} was read`, el("ul", {}, ...body.sentences.map((sentence) => el("li", {}, sentence))));
    }
  }

  /** A scan as it is over the bait on the bench. */
  async function over(file) {
    const { file: lies, text } = on.read();
    const tail = new TextEncoder().encode(JSON.stringify({ file: lies, text }));
    const length = new DataView(new ArrayBuffer(4));
    length.setUint32(0, tail.length, true);
    const body = await answerOf(file, "lay", new Blob([file, tail, length]));
    if (body) on.under({ ...laidScan(body), of: text });
  }

  /** What the server says of a file; null where it was not read, and that was told. */
  async function answerOf(file, route, content, said = {}) {
    const busy = () => on.tell(`Reading ${file.name}; this may take a minute.`);
    const telling = setInterval(busy, 10_000);
    busy();
    try {
      const query = new URLSearchParams({ name: file.name, tab: on.tab, ...said });
      const { status, body } = await fetched(`${route}?${query}`, content, { raw: true });
      on.tell("");
      if (status === 200 && !body.refused) return body;
      sheet(`${file.name} was not read`, el("p", { class: "told" }, wordsOf(body)));
    } catch {
      on.tell("The server is gone; nothing was read. Try again when it is back.");
    } finally {
      clearInterval(telling);
    }
    return null;
  }

  async function recipe(file) {
    const text = await file.text();
    if (!text.trim()) {
      on.tell(`${file.name} is empty; nothing was opened.`);
      return;
    }
    const answers = [
      ["Open it", "open"],
      ["Lay it under the one on the bench", "under"],
    ];
    const choice = await asked(file.name, ["What is to be done with this recipe?"], answers);
    if (choice === "open") on.fresh(text, "dropped");
    if (choice === "under") on.under({ name: file.name, text });
  }

  return take;
}

/** What a photograph does not show: the page it lies on, how thick the bait is; null where they closed it. */
function photograph(name) {
  return new Promise((resolve) => {
    let said = null;
    const page = chosen("page", [
      ["a4", "A4"],
      ["letter", "Letter"],
    ]);
    const thickness = box("thickness", "12 mm");
    const nose = chosen("nose", [
      ["", "at the fuller end"],
      ["left", "at the left"],
      ["right", "at the right"],
    ]);
    const form = el(
      "form",
      { class: "asking" },
      labelled("It lies on", page, "the printed page"),
      labelled("Thickness", thickness, "by the calliper, side to side"),
      labelled("Its nose is", nose),
      el("button", {}, "Read it"),
    );
    const paper = sheet(name, form);
    page.focus();
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      said = Object.fromEntries([...new FormData(form)].filter(([, value]) => value.trim()));
      paper.close();
    });
    paper.dialog.addEventListener("close", () => resolve(said));
  });
}

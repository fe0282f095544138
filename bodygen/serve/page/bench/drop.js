// A photo, a scan, a table or a recipe let go over the page, or chosen from the shelf.

import { fetched } from "../asks.js";
import { asked, el } from "./element.js";
import { wordsOf } from "./shelf.js";

const LARGEST = 64e6; // bytes, as the server takes them

/** `on` = {fresh(text, born), under({name, text|drawing}), tell(sentence), tab}. Returns the function that takes a file. */
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
    on.tell(`Reading ${file.name}; this may take a minute.`);
    try {
      const address = `drop?name=${encodeURIComponent(file.name)}&tab=${encodeURIComponent(on.tab)}`;
      const { status, body } = await fetched(address, file, { raw: true });
      if (status !== 200 || body.refused) on.tell(wordsOf(body));
      else if (body.over) on.under(body.over);
      else {
        on.fresh(body.text, "traced");
        on.tell((body.sentences ?? [`${file.name} was read.`]).join(" "));
      }
    } catch {
      on.tell("The server is gone; nothing was read. Try again when it is back.");
    }
  }

  async function recipe(file) {
    const text = await file.text();
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

// Every file of the bait: built, then downloaded, each with the cautions that belong to it.

import { fetched } from "../asks.js";
import { button, el, sheet } from "./element.js";
import { wordsOf } from "./shelf.js";

const LOOK_MS = 400;
const DEFER =
  "Reminders for grown makers: local law, the supplier's data sheet, the tool's manual and licensed practice rule over them.";

/** `ask()` gives {text, file, tab, name} of the bait in hand. */
export function filesSheet({ ask, stem }) {
  const said = el("p", { class: "said", role: "status" });
  const bar = el("progress", { max: 1, value: 0, hidden: true, "aria-label": "files made" });
  const list = el("ul", { class: "files" });
  const begin = button("Make all files", make);
  const about =
    "The card for the wall, drawing, templates, jigs, lip and router's programs, as the bait stands on the page now.";
  const paper = sheet("Files", el("p", {}, about), el("div", { class: "answers" }, begin), said, bar, list);
  let open = true;
  paper.dialog.addEventListener("close", () => (open = false));
  begin.focus();

  async function make() {
    begin.disabled = true;
    list.classList.add("faint");
    bar.hidden = false;
    try {
      const { status, body } = await fetched("build", ask());
      if (status !== 200 || body.refused) said.textContent = wordsOf(body);
      else await follow(body.job);
    } catch {
      said.textContent = "The server is gone; make them when it is back.";
    }
    begin.disabled = false;
    bar.hidden = true;
    list.classList.remove("faint");
  }

  async function follow(job) {
    while (open) {
      const { body } = await fetched(`job?id=${encodeURIComponent(job)}`);
      if (body.files) {
        said.textContent = `${body.files.length} files${body.folder ? ` in ${body.folder}` : ""}. ${body.message ?? ""}`;
        show(body.files);
        return;
      }
      if (body.state === "failed" || body.error || body.refused) {
        said.textContent = body.message ?? wordsOf(body);
        return;
      }
      said.textContent = body.now ? `Making ${body.now}` : "Making them; this takes a minute.";
      if (body.of) [bar.max, bar.value] = [body.of, body.done ?? 0];
      else bar.removeAttribute("value");
      await new Promise((resolve) => setTimeout(resolve, LOOK_MS));
    }
  }

  function show(files) {
    const card = (file) => (file.name.startsWith("bench-card") ? 0 : 1);
    const sorted = [...files].sort((a, b) => card(a) - card(b) || a.name.localeCompare(b.name));
    list.replaceChildren(...sorted.map((file) => fileRow(file, stem())));
    list.querySelector("a")?.focus();
  }
  return paper;
}

function fileRow({ name, what, bytes, cautions = [], address }, stem) {
  const href = address ?? `file/${encodeURIComponent(stem)}/${name.split("/").map(encodeURIComponent).join("/")}`;
  const link = el("a", { href, download: name.split("/").at(-1) }, name);
  const row = el(
    "li",
    {},
    el("span", { class: "file" }, link, " ", el("small", { class: "figure" }, sized(bytes))),
    el("span", {}, what ?? ""),
  );
  if (cautions.length)
    row.append(
      el(
        "div",
        { class: "cautions", role: "note" },
        ...cautions.map((caution) => el("p", {}, caution)),
        el("p", {}, el("small", {}, DEFER)),
      ),
    );
  return row;
}

function sized(bytes) {
  if (bytes === undefined) return "";
  return bytes < 1e6 ? `${Math.max(1, Math.round(bytes / 1e3))} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}

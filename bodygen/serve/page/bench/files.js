// Every file of the bait: built, then downloaded, each with the cautions that belong to it.

import { fetched } from "../asks.js";
import { button, el, sheet } from "./element.js";
import { wordsOf } from "./shelf.js";

const LOOK_MS = 400;

/** `ask()` gives {text, file, tab, name} of the bait in hand. */
export function filesSheet({ ask }) {
  const said = el("p", { class: "said", role: "status" });
  const bar = el("progress", { max: 1, value: 0, hidden: true, "aria-label": "files made" });
  const list = el("ul", { class: "files" });
  const care = el("section", { class: "care", hidden: true });
  const begin = button("Make all files", make);
  const about =
    "The card for the wall, drawing, templates, jigs, lip and router's programs, as the bait stands on the page now.";
  const paper = sheet("Files", el("p", {}, about), el("div", { class: "answers" }, begin), said, bar, list, care);
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
        show(body);
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

  function show({ files, stem, cautions = [], defer = "" }) {
    const card = (file) => (file.name.startsWith("bench-card") ? 0 : 1);
    const sorted = [...files].sort((a, b) => card(a) - card(b) || a.name.localeCompare(b.name));
    const words = Object.fromEntries(cautions.map(({ title, text }) => [title, text]));
    list.replaceChildren(...sorted.map((file) => fileRow(file, stem, words)));
    care.replaceChildren(
      el("h3", {}, "Take care"),
      ...cautions.map(({ title, text }) => el("p", {}, el("b", {}, `${title}. `), text)),
      el("p", {}, el("small", {}, defer)),
    );
    care.hidden = !cautions.length;
    list.querySelector("a")?.focus();
  }
  return paper;
}

/** One file to keep; what to take care of where it is used stands beside it, in the words of the list below. */
function fileRow({ name, what, bytes, cautions = [] }, stem, words) {
  const href = `file/${encodeURIComponent(stem)}/${encodeURIComponent(name)}`;
  const link = el("a", { href, download: name }, name);
  const size = el("small", { class: "figure" }, sized(bytes));
  const row = el("li", {}, el("span", { class: "file" }, link, " ", size), el("span", {}, what ?? ""));
  if (!cautions.length) return row;
  const said = cautions.map((title) => el("p", {}, el("b", {}, `${title}. `), words[title] ?? ""));
  row.append(el("details", { class: "cautions" }, el("summary", {}, `Take care: ${cautions.join("; ")}`), ...said));
  return row;
}

function sized(bytes) {
  if (bytes === undefined) return "";
  return bytes < 1e6 ? `${Math.max(1, Math.round(bytes / 1e3))} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}

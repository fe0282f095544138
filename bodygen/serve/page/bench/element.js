// One way to make an element; texts are always texts, never markup.

const SVG = "http://www.w3.org/2000/svg";

/** `el("p", {class: "note", onclick: f}, "text", other)`: a key with `on` listens, true is a bare attribute. */
export function el(tag, attributes = {}, ...children) {
  return filled(document.createElement(tag), attributes, children);
}

export function svg(tag, attributes = {}, ...children) {
  return filled(document.createElementNS(SVG, tag), attributes, children);
}

function filled(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== false));
  return element;
}

/** Put a text where it is another one, so that a reader that watches the place is told once. */
export function say(element, text) {
  if (element.textContent === text) return;
  const { firstChild: only } = element;
  if (text && only?.nodeType === Node.TEXT_NODE && !only.nextSibling) only.data = text; // less to lay out than another
  else element.textContent = text;
}

/** Give an attribute where it is another one. */
export function mark(element, name, value) {
  if (element.getAttribute(name) !== value) element.setAttribute(name, value);
}

/** A text in which no line ends between a number and its unit. */
export const unbroken = (text) => text.replace(/(?<=\d) (?=(?:mm|cm[23]|in|ft|m|g|oz|lb|deg|%|s|mph)(?![a-z]))/g, "\u00a0");

export function button(words, onclick, attributes = {}) {
  return el("button", { type: "button", onclick, ...attributes }, words);
}

/** A sheet over the page with a heading, closed by its button, Escape, or `close`; gives the focus back. */
export function sheet(title, ...children) {
  const heading = el("h2", { id: `sheet-${title.replace(/\W+/g, "-")}` }, title);
  const close = button("Close", () => dialog.close(), { class: "close" });
  const body = el("div", { class: "sheet-body" }, ...children);
  const dialog = el(
    "dialog",
    { class: "sheet", "aria-labelledby": heading.id },
    el("header", {}, heading, close),
    body,
  );
  dialog.addEventListener("close", () => dialog.remove());
  document.body.append(dialog);
  dialog.showModal();
  return { dialog, body, close: () => dialog.close() };
}

/** Ask a person; resolves to the chosen answer's value, null where they closed it. */
export function asked(title, sentences, answers) {
  return new Promise((resolve) => {
    let chosen = null;
    const row = el("div", { class: "answers" });
    const paper = sheet(title, ...sentences.map((sentence) => el("p", {}, sentence)), row);
    for (const [words, value] of answers) {
      row.append(
        button(words, () => {
          chosen = value;
          paper.close();
        }),
      );
    }
    row.firstElementChild.focus();
    paper.dialog.addEventListener("close", () => resolve(chosen));
  });
}

/** A box for words. */
export function box(name, placeholder = "") {
  return el("input", { type: "text", name, placeholder, autocomplete: "off" });
}

/** One of several: each `[value, words]`, or words that are the value. */
export function chosen(name, options, attributes = {}) {
  const pairs = options.map((one) => (Array.isArray(one) ? one : [one, one]));
  return el("select", { name, ...attributes }, ...pairs.map(([value, words]) => el("option", { value }, words)));
}

/** What a shelf holds, to choose from: those of the folder apart from the demos, which may have the same names. */
export function shelved({ recipes, demos }) {
  const rows = [["In this folder", recipes], ["Demo baits", demos]].filter(([, own]) => own.length);
  return rows.map(([label, own]) => {
    const called = ({ file, name }) => (own.filter((one) => one.name === name).length > 1 ? `${name}, ${file}` : name);
    return el("optgroup", { label }, own.map((one) => el("option", { value: one.file }, called(one) || one.file)));
  });
}

/** An example for who works in millimetres, or in inches. */
export const inUnits = (units, metric, inch = metric) => (units === "in" ? inch : metric);

export function labelled(words, control, note = "") {
  return el("label", { class: "asked" }, el("span", {}, words), control, note && el("small", {}, note));
}

/** Take over what is still being typed into bench or scale. */
export function takeTyped() {
  document.activeElement?.closest("#bench input, #scale input")?.dispatchEvent(new Event("change"));
}

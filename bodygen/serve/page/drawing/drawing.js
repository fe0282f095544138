// The drawing below the water: the same bait, still, one view at a time, with its handles. Knows no recipe rule.

import { handles } from "./handles.js";
import { EDGE, laidOut } from "./layout.js";
import { written } from "./numbers.js";
import { drawRulers } from "./ruler.js";
import { drawShapes } from "./shapes.js";
import { set, svg } from "./svg.js";

const VIEWS = {
  side: ["Side", "from the left"],
  plan: ["Above", "from above"],
  nose: ["Nose", "from the nose"],
  section: ["Cut across", "from the nose"],
};
const MM_PER_INCH = 25.4;
let drawings = 0;

/** Puts the drawing into `element`; hands and keys call `onChange(key, text, {final, further})` and `onView({view, section_x_mm})`. */
export function mount(element, { onChange = () => {}, onView = () => {} } = {}) {
  element.classList.add("drawing");
  const sheet = made("div", { className: "drawing-sheet" });
  const root = svg("svg", { role: "group", "aria-label": "Drawing of the bait" });
  const [under, lines, rulers, grips] = ["under", "lines", "rulers", "grips"].map((name) => {
    return svg("g", { class: `drawing-${name}`, ...(name === "grips" ? {} : { "aria-hidden": true }) });
  });
  const edge = svg("clipPath", { id: `drawing-edge-${(drawings += 1)}` });
  edge.append(svg("rect", { x: EDGE.left, y: EDGE.top }));
  set(under, { "clip-path": `url(#${edge.id})` });
  set(lines, { "clip-path": `url(#${edge.id})` });
  const words = svg("text", { x: EDGE.left, y: 17, "aria-hidden": true });
  root.append(edge, under, lines, rulers, grips, words);
  const it = {
    element, sheet, root, edge, under, lines, rulers, words, onView, answer: null, drawing: null, below: null,
    handlesKept: [], layout: null, room: null, view: "side", shown: null, held: null, drawn: {},
  };
  it.choice = choices(it);
  sheet.append(root, it.choice.where);
  element.replaceChildren(it.choice.element, sheet);
  it.handles = handles(root, grips, { told: (text) => told(it, text), changed: onChange });
  const room = new ResizeObserver(() => {
    it.room = roomOf(it.sheet);
    draw(it);
  });
  room.observe(sheet);
  return {
    element,
    show: (answer, state) => show(it, answer, state),
    dispose: () => {
      room.disconnect();
      element.replaceChildren();
    },
  };
}

function made(name, properties) {
  return Object.assign(document.createElement(name), properties);
}

/** One of the four views, and for a section how far from the nose it is. */
function choices(it) {
  const element = made("fieldset", { className: "drawing-views" });
  element.append(made("legend", { textContent: "Seen" }));
  const group = `drawing-view-${drawings}`;
  const radios = {};
  for (const [view, [title]] of Object.entries(VIEWS)) {
    const label = made("label", {});
    radios[view] = made("input", { type: "radio", name: group, value: view, checked: view === it.view });
    radios[view].addEventListener("change", () => chosen(it, view));
    label.append(radios[view], made("span", { textContent: title }));
    element.append(label);
  }
  const where = made("label", { className: "drawing-where is-away" });
  const slide = made("input", { type: "range", min: 0, max: 100, step: 0.1, value: 50 });
  const read = made("output", {});
  where.append(made("span", { textContent: "at" }), slide, read);
  slide.setAttribute("aria-label", "Place of the cut, from the nose");
  slide.addEventListener("input", () => {
    placed(it, Number(slide.value));
    it.onView({ view: "section", section_x_mm: Number(slide.value) });
  });
  return { element, radios, where, slide, read };
}

function chosen(it, view) {
  it.view = view;
  const { where, slide } = it.choice;
  where.classList.toggle("is-away", view !== "section");
  slide.disabled = view !== "section";
  it.onView(view === "section" ? { view, section_x_mm: Number(slide.value) } : { view });
}

function placed(it, x) {
  const inches = it.answer?.units === "in";
  const text = inches ? `${(x / MM_PER_INCH).toFixed(3)} in` : written(x, "mm", 0.1);
  put(it.choice.read, text);
  set(it.choice.slide, { "aria-valuetext": text });
}

function show(it, answer, state = {}) {
  it.element.classList.toggle("is-faint", Boolean(answer?.refused || state?.offline));
  if (answer && !answer.refused && answer.drawing) {
    const { drawing } = answer;
    const another = it.answer?.name !== answer.name || it.drawing?.view !== drawing.view;
    if (another) Object.assign(it, { layout: null, handlesKept: [] });
    Object.assign(it, { answer, drawing, handlesKept: drawing.handles ?? it.handlesKept });
    agree(it, drawing, another);
  }
  const under = state?.under?.answer?.drawing ?? state?.under?.drawing;
  it.below = under && under.view === it.drawing?.view ? under : null;
  if (it.drawn.answer === it.answer && it.drawn.below === it.below) return;
  it.drawn = { answer: it.answer, below: it.below };
  draw(it); // now: until the next frame begins there is time for it
}

/** The choice says what is shown. */
function agree(it, drawing, another) {
  const { radios, where, slide } = it.choice;
  if (another) {
    it.view = drawing.view;
    radios[drawing.view].checked = true;
  }
  where.classList.toggle("is-away", it.view !== "section");
  if (slide.disabled !== (it.view !== "section")) slide.disabled = it.view !== "section";
  const length = drawing.length_mm;
  if (length) set(slide, { max: length });
  if (typeof drawing.section_x_mm === "number" && document.activeElement !== slide) slide.value = drawing.section_x_mm;
  placed(it, Number(slide.value));
}

function told(it, text) {
  it.held = text;
  put(it.words, text ?? VIEWS[it.drawing?.view ?? "side"][1]);
}

function put(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

function roomOf({ clientWidth: width, clientHeight: height }) {
  return { width, height };
}

function draw(it) {
  const { width, height } = it.room ?? roomOf(it.sheet); // to ask the sheet has all of the page laid out
  if (!it.drawing || width <= EDGE.left + EDGE.right || height <= EDGE.top + EDGE.bottom) return;
  const { drawing, below } = it;
  const box = below ? around(drawing.box, below.box) : drawing.box;
  const before = it.layout;
  it.layout = it.handles.busy && before ? before : laidOut(box, width, height, before);
  set(it.root, { viewBox: `0 0 ${width} ${height}`, "aria-label": `${it.answer.name}, drawn ${VIEWS[drawing.view][1]}` });
  const [wide, high] = [width - EDGE.left - EDGE.right, height - EDGE.top - EDGE.bottom];
  set(it.edge.firstChild, { width: wide, height: high });
  drawShapes(it.under, it.layout, below?.shapes.filter((shape) => shape.role !== "centre") ?? []);
  drawShapes(it.lines, it.layout, drawing.shapes);
  if (it.layout !== before || it.shown !== it.answer.units) drawRulers(it.rulers, it.layout, it.answer.units);
  it.shown = it.answer.units;
  it.handles.draw(it.layout, it.handlesKept);
  told(it, it.held);
}

function around(a, b) {
  return [Math.min(a[0], b[0]), Math.min(a[1], b[1]), Math.max(a[2], b[2]), Math.max(a[3], b[3])];
}

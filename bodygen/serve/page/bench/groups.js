// The recipe in shop order: groups of fields, side by side where there is room, one open at a time where there is not.

import { el, mark, say } from "./element.js";
import { aboutOf, fieldRow } from "./field.js";
import { moreOf, oneLess } from "./things.js";

const NARROW = "(max-width: 44.9375em)";
const BESIDE = "(min-width: 62.5em) and (min-height: 40em)"; // as bench.css: columns, and a shut one is a strip
const OPEN_REM = 18.4;
const SHUT_PX = 34;
const ROW_PX = 110; // of the window's height to a row in sight: the bench has less than half of it
const ABOUT = "Hold a value to read what it is; draw its tape to change it.";

/** Returns {show(state), lead(key), place(key)}; `hand` is what fields do. */
export function bench(element, hand) {
  const narrow = matchMedia(NARROW);
  const groups = new Map(); // by name
  let last = null; // as the fields were told last
  let of = ""; // the bait that they are of
  let fields = [];
  let titles = new Map(); // of groups, by the key of a field

  narrow.addEventListener("change", () => arrange());

  /** Side by side as many open as there is room for; where it is narrow one, the first at first. */
  function arrange() {
    [...groups.values()].forEach(({ details }, index) => opened(details, index, groups.size));
  }

  function opened(details, index, of) {
    if (narrow.matches) details.setAttribute("name", "group");
    else details.removeAttribute("name");
    details.open = index < (narrow.matches ? 1 : roomFor(of));
  }

  /** How many columns of so many have room while the others are strips; all have where they lie in no row. */
  function roomFor(columns) {
    if (!matchMedia(BESIDE).matches) return columns;
    const wide = OPEN_REM * Number.parseFloat(getComputedStyle(document.documentElement).fontSize);
    return Math.max(1, Math.floor((element.clientWidth - columns * SHUT_PX) / (wide - SHUT_PX)));
  }

  function show(state) {
    const { changes, refused } = state;
    const { groups: told, findings } = state.fields;
    if (!told) return;
    if (told !== last) {
      last = told;
      fields = told.flatMap((group) => group.fields);
      titles = new Map(told.flatMap(({ title, fields: own }) => own.map(({ key }) => [key, title])));
    }
    const shown = told.filter((group) => group.fields.length || group.more.length);
    if (of !== state.id) for (const group of groups.values()) group.anew();
    of = state.id;
    for (const group of shown) {
      if (!groups.has(group.name)) {
        groups.set(group.name, groupOf(group, hand));
        opened(groups.get(group.name).details, groups.size - 1, shown.length);
      }
      groups.get(group.name).show(group, { changes, refused, findings, care: state.answer?.care });
    }
    laid(
      element,
      shown.map(({ name }) => groups.get(name).details),
    );
  }

  /** Where a key stands, of a table its first: the field's key, and the title of its group; undefined if nowhere. */
  function place(key) {
    const field = fields.find((one) => one.key === key) ?? fields.find((one) => one.key.startsWith(`${key}.`));
    return field && { key: field.key, title: titles.get(field.key) };
  }

  /** Open the group of a key, and put the hand on it. */
  function lead(wanted) {
    const { key } = place(wanted) ?? { key: wanted };
    for (const group of groups.values()) if (group.lead(key)) break;
    const control = element.querySelector(`[data-key="${CSS.escape(key)}"]`);
    if (!control) return false;
    control.closest("details.group").open = true;
    control.focus();
    control.scrollIntoView({ block: "center" });
    return true;
  }

  return { show, lead, place };
}

function groupOf(first, hand) {
  const title = el("h2", {}, first.title);
  const mark = el("span", { class: "marked" });
  const about = el("p", { class: "about", "aria-hidden": "true" }, ABOUT);
  const rows = el("div", { class: "rows" });
  const more = el("p", { class: "one-more" });
  const care = cautions();
  const details = el(
    "details",
    { class: "group", "data-group": first.name },
    el("summary", {}, title, mark),
    about,
    care.element,
    rows,
    more,
  );
  const parts = new Map();
  let last = null; // [group, recipe] as told last
  let filled = null; // as its rows show it; nothing while some of them wait for the first picture
  let waits = false;
  const handHere = {
    ...hand,
    hold(field) {
      say(about, field ? `${field.label}: ${aboutOf(field)}` : ABOUT);
      details.classList.toggle("in-hand", Boolean(field));
      hand.hold(field);
    },
  };

  details.addEventListener("toggle", () => last && !waits && fill());

  function show(group, recipe) {
    last = [group, recipe];
    const doubts = group.fields.reduce((sum, field) => sum + graveOf(field, recipe), 0);
    say(mark, doubts ? `${doubts} doubt${doubts > 1 ? "s" : ""}` : "");
    if (filled) {
      fill();
      return;
    }
    if (details.open) fill(Math.ceil(innerHeight / ROW_PX));
    if (!waits) document.addEventListener("bodygen:shown", () => setTimeout(fill), { once: true });
    waits = true; // most of a page's rows are out of sight at first: the picture goes before them
  }

  /** Shows its rows; of no more tables than make up `most` rows, where it is told so. */
  function fill(most = Infinity) {
    if (filled && isAsItWas(...filled, ...last)) return;
    if (most === Infinity) [filled, waits] = [last, false];
    const [group, recipe] = last;
    moreOf(more, group.more, hand);
    care.show(recipe.care?.groups[group.name] ?? [], recipe.care?.defer);
    const shown = beginningOf(Map.groupBy(group.fields, tableOf), most);
    for (const [place, fields] of shown) {
      if (!parts.has(place)) parts.set(place, part(place, handHere));
      parts.get(place).show(fields, { ...recipe, out: group.outs.includes(place) });
    }
    for (const place of [...parts.keys()]) if (!shown.has(place)) parts.delete(place);
    const wanted = [...shown.keys()].map((place) => parts.get(place).element);
    if (wanted.length !== rows.children.length || wanted.some((row, index) => row !== rows.children[index]))
      rows.replaceChildren(...wanted);
  }

  function lead(key) {
    if (last) fill();
    return [...parts.values()].some((one) => one.lead(key));
  }

  /** Another bait: which rows stand above the folds is its own affair. */
  function anew() {
    parts.clear();
    filled = null;
  }

  return { details, show, lead, anew };
}

/** The first tables, up to that with the row of this number. */
function beginningOf(tables, most) {
  let before = 0;
  const begun = [...tables].filter(([, fields]) => {
    const within = before < most;
    before += fields.filter(({ value }) => value !== "").length;
    return within;
  });
  return new Map(begun);
}

/** A glance alters few fields of many: the other groups need not be looked through. */
function isAsItWas(group, before, now, recipe) {
  if (group !== now || before.findings !== recipe.findings || before.refused !== recipe.refused) return false;
  return group.fields.every(({ key }) => before.changes[key] === recipe.changes[key]);
}

/** What to take care of at this step: by name in one line, in full behind it. */
function cautions() {
  const names = el("span", {});
  const full = el("div", {});
  const element = el("details", { class: "cautions", hidden: true }, el("summary", {}, names), full);
  let last = "";

  function show(rows, defer) {
    const titles = rows.map(({ title }) => title).join("; ");
    if (titles === last) return;
    last = titles;
    element.hidden = !rows.length;
    say(names, `Take care: ${titles}`);
    const said = rows.map(({ title, text }) => el("p", {}, el("b", {}, `${title}. `), text));
    full.replaceChildren(...said, el("p", {}, defer));
  }

  return { element, show };
}

const tableOf = ({ key }) => key.replace(/\.?\w+$/, "");

function graveOf(field, { findings, refused, changes }) {
  const own = (field.findings ?? []).filter((index) => findings[index] && findings[index].severity !== "note").length;
  return own + (refused.some((one) => isOf(one, field, changes)) ? 1 : 0);
}

/** Is a mistake this field's: its own, or its table's where the hand changed this? */
function isOf(refusal, { key }, changes) {
  return refusal.key === key || (changes[key] !== undefined && key.startsWith(`${refusal.key}.`));
}

/** One table of the recipe: what is written in it, and behind a fold what is left out. */
function part(place, hand) {
  const called = el("span", {});
  const less = oneLess(place, hand);
  const heading = el("h3", {}, called, " ", less);
  const written = el("div", { class: "written" });
  const count = el("span", {});
  const left = el("div", { class: "written" });
  const fold = el("details", { class: "left-out" }, el("summary", {}, count), left);
  const element = el("section", { class: "part" }, heading, written, fold);
  const rows = new Map();
  const stays = new Set(); // what was once shown above the fold stays there
  let last = null;

  fold.addEventListener("toggle", () => last && show(...last));

  function row(field) {
    if (!rows.has(field.key)) rows.set(field.key, fieldRow(field, hand));
    return rows.get(field.key);
  }

  function show(fields, recipe) {
    last = [fields, recipe];
    const { changes, refused, findings, out } = recipe;
    const name = fields[0].part || "bait";
    say(called, name);
    mark(less, "aria-label", `take out ${name}`);
    less.hidden = !out;
    const used = fields.some((field) => field.value !== "");
    for (const field of fields) {
      const touched =
        field.value !== "" || (used && field.required) || field.findings?.length || changes[field.key] !== undefined;
      if (touched || refused.some((one) => isOf(one, field, changes)))
        if (!rows.has(field.key) || !fold.open) stays.add(field.key);
    }
    const above = fields.filter((field) => stays.has(field.key));
    const below = fields.filter((field) => !stays.has(field.key));
    say(count, above.length ? `${below.length} more` : `${name}: ${below.length} left out`);
    element.classList.toggle("bare", !above.length);
    fold.hidden = !below.length;
    laid(
      written,
      above.map((field) => row(field).element),
    );
    laid(left, fold.open ? below.map((field) => row(field).element) : [...left.children]);
    for (const field of fields) {
      const own = (field.findings ?? []).map((index) => findings[index]).filter(Boolean);
      const refusal = refused.find((one) => isOf(one, field, changes));
      rows.get(field.key)?.show(field, { changed: changes[field.key], findings: own, refusal });
    }
  }

  function lead(key) {
    if (!last?.[0].some((field) => field.key === key)) return false;
    if (!stays.has(key)) {
      fold.open = true;
      show(...last);
    }
    return true;
  }

  return { element, show, lead };
}

function laid(place, rows) {
  if (rows.length !== place.children.length || rows.some((one, index) => one !== place.children[index]))
    place.replaceChildren(...rows);
}

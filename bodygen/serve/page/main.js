// Where the page begins: one state, what changes it, and what shows it.

import { asker, fetched } from "./asks.js";
import { doubtList } from "./bench/doubts.js";
import { dropping } from "./bench/drop.js";
import { asked, takeTyped } from "./bench/element.js";
import { filesSheet } from "./bench/files.js";
import { bench } from "./bench/groups.js";
import { mending } from "./bench/mends.js";
import { KINDS, offersSheet } from "./bench/offers.js";
import { readingsSheet } from "./bench/readings.js";
import { save, textSheet } from "./bench/saving.js";
import { scaleRow } from "./bench/scale.js";
import { shelfSheet, wordsOf } from "./bench/shelf.js";
import { isFaint, sentences } from "./bench/words.js";
import { mount as mountDrawing } from "./drawing/drawing.js";
import { firstOf, over, recipeAt, wanted } from "./early.js";
import { keys } from "./keys.js";
import { anyName, keeper, neighbours, releaseTab, returning, tabName, told } from "./kept.js";
import * as bait from "./state.js";
import { titleBand } from "./title.js";
import { secondBait } from "./under.js";
import { calmed } from "./water/calm.js";
import { mount as mountWater } from "./water/water.js";

const REST_MS = 250; // a hand that lies still so long has stopped
const KEEP_MS = 300;
const SOON_MS = 100; // an answer that comes sooner shows all that a hand changed; the value in hand is shown at once
const LEAVING = [
  "These changes cannot be kept",
  ["The browser has no room for them: save them first, or they are lost."],
  [["Stay here", false], ["Leave them", true]],
];
const place = (id) => document.getElementById(id);

const tab = await tabName();
let state = bait.EMPTY;
let shelf = { folder: "", recipes: [], demos: [], first: null, extras: {} };
let keep = keeper("", tab);
let room = true; // whether the browser could keep what is not saved
let notSaved = 0; // edits on the shelf that nobody has in hand
let [resting, keeping, showing] = [0, 0, 0];
let lastAsk = null;

const onError = (sentence) => (lastAsk = title.tell(sentence) ?? null); // what was asked may be asked again
const asks = asker({ tab, onAnswer, onGone, onError, onGlance: (underWay) => calm.glance(underWay) });
const others = neighbours(tab, heard);
returning(() => state, heard);

const hand = {
  edit(key, text, { final, hold, further }) {
    const since = performance.now();
    const altered = (text ?? "") !== (bait.valueOf(state, key) ?? "");
    if (!altered && !final) return;
    if (altered) state = bait.edited(state, { [key]: text }, hold);
    clearTimeout(resting);
    if (final) settle(since);
    else {
      calm.moves();
      ask("glance", since, false, further === undefined ? {} : { [key]: further });
      resting = setTimeout(() => ask("whole"), REST_MS);
    }
    if (altered) set(state, final ? 0 : SOON_MS);
  },
  rest() {
    clearTimeout(resting);
    calm.letGo();
    state = bait.letGo(state);
    ask("whole");
  },
  hold() {},
  mend(changes, words) {
    set(bait.edited(state, changes));
    settle();
    if (words) title.tell(`${words}: done. Back takes it out again.`);
  },
  lead: (key) => benchBand.lead(key),
};

const water = mountWater(place("water"), {});
const calm = calmed(water.wait);
const drawing = mountDrawing(place("drawing"), {
  onChange: (key, text, { final, further }) => {
    hand.edit(key, text, { final, further, hold: `drawing ${key}` });
    if (final) hand.rest();
  },
  onView({ view, section_x_mm = null }) {
    state = { ...state, view, section_x_mm };
    ask("glance", performance.now(), true);
    under.ask();
  },
});
const benchBand = bench(place("bench"), hand);
const scale = scaleRow(place("scale"), hand);
const words = sentences(place("sentences"));
const doubts = doubtList(hand);
place("doubts").append(doubts.element);
const under = secondBait({ element: place("under"), says: place("under-says") }, {
  tab,
  read: () => state,
  put(second) {
    state = { ...state, under: second };
    show();
  },
  tell: (sentence) => title.tell(sentence),
});
const title = titleBand(place, {
  back: () => stepped(bait.back),
  forward: () => stepped(bait.forward),
  shelf: openShelf,
  save: saveIt,
  text: () => textSheet(bait.wholeText(state), (text) => changedText(text)),
  files: () => filesSheet({ ask: subject }),
  log: () => readingsSheet({ ask: subject, units: state.answer?.units, readings: scale.readings }),
  offer: (kind) => offersSheet(kind, { ask: subject, units: state.answer?.units, put: putIn, ...benchBand }),
  kinds: KINDS,
});
const dropped = dropping({ tab, open, fresh, read: subject, under: under.lay, tell: title.tell });

const mends = mending({
  read: subject,
  put(ask, found) {
    state = bait.mended(state, ask, found);
    show();
  },
});

function subject() {
  return { tab, file: bait.lies(state), text: bait.wholeText(state), name: state.answer?.name };
}

// ---- what changes the state

function set(next, after = 0) {
  state = next;
  clearTimeout(showing);
  if (after) showing = setTimeout(show, after);
  else show();
  clearTimeout(keeping);
  keeping = setTimeout(keepNow, KEEP_MS);
}

function keepNow() {
  clearTimeout(keeping);
  if (!state.text) return true;
  sessionStorage.setItem("bodygen/current", state.file ?? state.id);
  const unsaved = bait.unsaved(state);
  if (!unsaved) keep.drop(state.file ?? state.id);
  room = !unsaved || keep.keep(bait.kept(state));
  if (!room) {
    title.tell("The browser has no room to keep these changes: save them soon.");
    title.show(state, { unsaved, notSaved, room });
  }
  return room;
}

/**
 * Ask; what was asked with the same words and is under way or answered is not asked again. `further`: what comes next
 * if the hand goes on as it went, which is then worked out while it lies still.
 */
function ask(want, since, anew = false, further = {}) {
  const { text, changes, view, section_x_mm } = state;
  if (!text) return;
  const same = !anew && lastAsk && lastAsk.text === text && lastAsk.changes === changes && lastAsk.view === view;
  const answeredWhole = !state.waiting && state.answer?.want === "whole" && !anew;
  if ((same && (lastAsk.want === "whole" || want === "glance")) || answeredWhole) return;
  lastAsk = { text, changes, view, want };
  asks.ask({ want, since, asked: { text, changes }, further, file: bait.lies(state), view, section_x_mm });
}

/** A glance at once, then all of it. */
function settle(since = performance.now()) {
  ask("glance", since);
  clearTimeout(resting);
  resting = setTimeout(() => ask("whole", since), 0);
}

function onAnswer(answer, question) {
  set(bait.answered(state, answer, question));
  calm.shown();
  if (!state.waiting) {
    mends(answer);
    if (answer.want === "whole") under.measure();
  }
  if (answer.want === "glance" && !state.waiting) {
    clearTimeout(resting);
    resting = setTimeout(() => ask("whole"), REST_MS);
  }
}

function onGone(gone) {
  set({ ...state, gone });
  lastAsk = null;
  if (gone === "moved") {
    keepNow();
    releaseTab(); // the page at the new address may go on with it
  }
  if (!gone) {
    title.tell("The server is back.");
    ask("whole");
  }
}

function stepped(change) {
  const before = state;
  delete document.activeElement?.dataset.dirty;
  set(change(state));
  if (state !== before) settle();
}

function changedText(text) {
  set(bait.rewritten(state, text));
  settle();
}

function putIn(offer) {
  const text = offer.text ?? offer.toml;
  if (text) changedText(text);
  else hand.mend(offer.changes);
  title.tell(`Put in: ${offer.title}. Back takes it out again.`);
}

// ---- opening and saving

async function begin(next) {
  const first = !state.answer; // there is nothing that a glance could go on from
  if (!keepNow() && !(await asked(...LEAVING))) return;
  state = next;
  ask(first ? "whole" : "glance", performance.now(), true);
  set(state);
  const name = state.file ?? (state.born.startsWith("demo:") ? state.born : "");
  const address = name ? `#${encodeURIComponent(name)}` : location.pathname;
  if (address !== location.hash) history.replaceState(null, "", address);
  if (state.file) others.say({ opened: state.file });
  if (first) setTimeout(water.ready); // while the server works
  else resting = setTimeout(() => ask("whole"), 0);
}

async function open(file) {
  try {
    const { status, body } = await fetched(recipeAt(file));
    if (status !== 200) return void title.tell(wordsOf(body));
    const born = file.startsWith("demo:") ? file : "";
    const found = body.file === null ? null : await keptOf(body.file);
    begin(found ? bait.restored(state, found) : bait.opened(state, { ...body, id: anyName(), born }));
  } catch {
    onGone(true);
    asks.lost();
  }
}

/** Edits of this file that were not saved: go on with them, or leave them on the shelf. */
async function keptOf(file) {
  const mine = keep.mine(file);
  if (mine) return mine;
  const left = (await keep.left(state.file ?? state.id)).find(({ entry }) => entry.file === file);
  if (!left) return null;
  const answers = [
    ["Go on with them", true],
    ["Open the file as it lies; they stay on the shelf", false],
  ];
  const when = new Date(left.entry.when).toLocaleString([], { dateStyle: "medium", timeStyle: "short" });
  if (!(await asked("Changes that were not saved", [`${file} has changes of ${when} that were never saved.`], answers)))
    return null;
  keep.forget(left.key);
  return left.entry;
}

function fresh(text, born) {
  begin(bait.opened(state, { id: anyName(), file: null, text, sha256: null, born }));
}

async function openShelf() {
  await readShelf();
  const kept = await keep.left(state.file ?? state.id);
  shelfSheet(shelf, kept, {
    open,
    fresh,
    drop: dropped,
    async restore({ key, entry }) {
      await begin(bait.restored(state, entry));
      if (state.id !== entry.id) return;
      keepNow();
      if (keep.mine(state.file ?? state.id)) keep.forget(key);
    },
  });
}

async function readShelf() {
  try {
    const { status, body } = await fetched("shelf");
    if (status === 200) shelf = body;
  } catch {
    asks.lost();
  }
  under.offer(shelf);
}

async function saveIt() {
  takeTyped();
  hand.rest();
  const working = () => Object.keys(state.changes).length && !state.refused.length && !state.gone;
  for (let tries = 0; tries < 100 && working(); tries += 1) await new Promise((resolve) => setTimeout(resolve, 50));
  if (state.gone) return title.tell("The server is gone: not saved, but kept in this browser.");
  if (state.refused.length) return title.tell("Not saved: a value is refused as it stands. It is kept in this browser.");
  if (working())
    return title.tell("Not saved: the last change is still being worked out. It is kept in this browser; save again.");
  const { id, file, text } = state;
  const there = () => state.id === id; // or another one came to the bench meanwhile, which must not get its file
  try {
    const name = state.answer?.name ?? "bait";
    const result = await save(state, { name, tell: title.tell, adopt: (found) => there() && adopt(found) });
    if (!result) return undefined;
    if (there()) {
      keep.drop(id);
      set(bait.written(state, result, text));
      keepNow();
      history.replaceState(null, "", `#${encodeURIComponent(result.file)}`);
    } else keep.saved(file ?? id, (left) => bait.written(left, result, text), bait.unsaved);
    others.say({ saved: result.file, sha256: result.sha256, text });
    title.tell(`Saved in ${result.file}.`);
  } catch {
    onGone(true);
    asks.lost();
  }
  return undefined;
}

/** Take what lies in the file; what was on the page is one step back. */
function adopt({ file, text, sha256 }) {
  set({ ...bait.rewritten(state, text), file, sha256, saved: text });
  settle();
}

function heard(message) {
  told(message, { ...state, unsaved: bait.unsaved(state) }, { tell: title.tell, say: others.say, adopt });
}

// ---- what shows it

function show() {
  const view = { ...state, offline: Boolean(state.gone), under: state.under?.answer ?? null };
  if (state.answer) {
    water.show(state.answer, view); // first: it is drawn beside what follows
    drawing.show(state.answer, view);
  }
  title.show(state, { unsaved: bait.unsaved(state), notSaved, room });
  place("afloat").classList.toggle("faint", state.refused.length > 0);
  benchBand.show(state);
  scale.show(state);
  under.show(state);
  words.show(state);
  doubts.show(state.fields.findings, state.refused);
  doubts.element.classList.toggle("faint", !state.refused.length && isFaint(state, "findings")); // a mistake is new
}

keys({ z: (shift) => stepped(shift ? bait.forward : bait.back), y: () => stepped(bait.forward), s: saveIt });
const leave = () => (takeTyped(), keepNow());
addEventListener("pagehide", leave);
document.addEventListener("visibilitychange", () => document.visibilityState === "hidden" && leave());

await readShelf();
keep = keeper(shelf.folder, tab);
notSaved = (await keep.left(sessionStorage.getItem("bodygen/current") ?? "")).length;
const mine = keep.mine(sessionStorage.getItem("bodygen/current") ?? "");
if (mine && (!wanted || wanted === (mine.file ?? mine.born) || !mine.file)) begin(bait.restored(state, mine));
else if (firstOf(shelf, wanted)) await open(firstOf(shelf, wanted));
over();
under.again();
if (notSaved) title.tell(`Changes that were never saved wait on the shelf (${notSaved}).`);

// The one state value of the page and every way it changes: pure functions from state to state, no document, no network.
//
// A bait on the bench is `text` (a recipe that the server understood) and `changes` (what was altered since, by key, as
// people write it; null takes a key out). The server folds the changes into the text and answers with the whole of it.

const LONGEST_PAST = 300;

export const EMPTY = Object.freeze({
  id: "", // what it goes by while it has no file
  file: null, // below the opened folder; null where it was never saved
  born: "", // what it began as: a demo, a new one, a traced one
  text: "",
  changes: Object.freeze({}),
  saved: null, // the text as it lies in the file; null where there is none
  sha256: null, // of the file when it was read or written
  past: Object.freeze([]),
  future: Object.freeze([]),
  holding: null, // what the hand holds: edits of one hold are one step back
  answer: null, // the last whole picture, glances laid over it
  fields: Object.freeze({ groups: null, findings: Object.freeze([]) }), // those of `text`, without the changes
  refused: Object.freeze([]),
  waiting: false, // an answer is older than what stands in the fields
  gone: false, // the server does not answer
  view: "side",
  section_x_mm: null,
  under: null, // a second bait laid under the drawing in pale ink: {name, text, answer}, or a scan laid over it
});

export function opened(state, { id, file, text, sha256, born = "" }) {
  const saved = file === null ? null : text;
  return { ...EMPTY, gone: state.gone, view: state.view, under: state.under, id, file, text, sha256, saved, born };
}

function step(state) {
  return { text: state.text, changes: state.changes, fields: state.fields };
}

/** One key altered. Edits with the same `hold` (a drag, a visit to a field) are one step back. */
export function edited(state, changes, hold = null) {
  const same = hold !== null && hold === state.holding;
  const past = same ? state.past : [...state.past, step(state)].slice(-LONGEST_PAST);
  return { ...state, changes: { ...state.changes, ...changes }, past, future: [], holding: hold, waiting: true };
}

/** The whole text altered: by hand, or by an offer that was put in. */
export function rewritten(state, text) {
  const past = [...state.past, step(state)].slice(-LONGEST_PAST);
  return { ...state, text, changes: {}, past, future: [], holding: null, waiting: true };
}

export function letGo(state) {
  return state.holding === null ? state : { ...state, holding: null };
}

export function back(state) {
  if (!state.past.length) return state;
  const before = state.past.at(-1);
  const future = [step(state), ...state.future];
  return { ...stepped(state, before), past: state.past.slice(0, -1), future, holding: null, waiting: true };
}

function stepped(state, { text, changes, fields = state.fields }) {
  return { ...state, text, changes, fields };
}

export function forward(state) {
  if (!state.future.length) return state;
  const [after, ...future] = state.future;
  return { ...stepped(state, after), past: [...state.past, step(state)], future, holding: null, waiting: true };
}

/** An answer to what was asked with `asked` = {text, changes}. What a glance leaves out stays from the answer before. */
export function answered(state, answer, asked) {
  const now = state.text === asked.text && state.changes === asked.changes;
  if (answer.refused) return now ? { ...state, refused: answer.refused, waiting: true } : state;
  const told = Object.fromEntries(Object.entries(answer).filter(([, part]) => part !== null && part !== undefined));
  if (answer.want === "whole") told.paint = answer.paint ?? null; // there nothing is bare wood, not what was before
  const next = { ...state, answer: { ...state.answer, ...told }, refused: EMPTY.refused, waiting: !now };
  // folded only where nothing was altered since, and where the fields come with it
  if (!now || !answer.groups) return next;
  return {
    ...next,
    text: answer.text,
    changes: NONE,
    fields: { groups: answer.groups, findings: answer.findings ?? [] },
  };
}

/** Values that mend its doubts, found after the answer to `ask`; of no use where another came since. */
export function mended(state, ask, mends) {
  if (state.answer?.ask !== ask || state.waiting || state.answer.findings !== state.fields.findings) return state;
  const findings = state.fields.findings.map((finding, index) => ({
    ...finding,
    mend: mends.find((mend) => mend.finding === index) ?? null,
  }));
  return { ...state, answer: { ...state.answer, findings }, fields: { ...state.fields, findings } };
}

/** Where it lies, or where what it was begun from does: the files that it names are beside that. */
export function lies(state) {
  return state.file ?? (state.born.startsWith("demo:") ? state.born : null);
}

/** The whole text with every change that is understood. */
export function wholeText(state) {
  return state.waiting || !state.answer ? state.text : state.answer.text;
}

const NONE = EMPTY.changes;

export function written(state, { file, sha256 }, text) {
  return { ...state, file, sha256, saved: text };
}

/** Has it more than its file has? */
export function unsaved(state) {
  if (!state.text) return false;
  if (Object.keys(state.changes).length) return true;
  return state.saved === null ? state.past.length > 0 || state.born === "new" : state.text !== state.saved;
}

/** What must outlive the page: all that was done by hand. */
export function kept(state) {
  const { id, file, born, text, changes, saved, sha256 } = state;
  const bare = (steps) => steps.map((one) => ({ text: one.text, changes: one.changes }));
  return {
    id,
    file,
    born,
    text,
    changes,
    saved,
    sha256,
    past: bare(state.past.slice(-30)),
    future: bare(state.future.slice(0, 30)),
  };
}

export function restored(state, keptState) {
  return { ...EMPTY, gone: state.gone, view: state.view, under: state.under, ...keptState, holding: null };
}

/** What stands in a field, as it is written; empty where it is left out. */
export function valueOf(state, key) {
  if (key in state.changes) return state.changes[key];
  for (const group of state.fields.groups ?? []) {
    for (const field of group.fields) if (field.key === key) return field.value;
  }
  const step = state.answer?.scale?.find(({ stage }) => key === `weighed.${stage}`);
  return step?.weighed_g ? `${step.weighed_g} g` : "";
}

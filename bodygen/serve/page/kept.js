// What must not be lost when the page, the browser or the server dies: kept in the browser, by folder, file and tab.

import { fetched } from "./asks.js";

const PREFIX = "bodygen";
const LONGEST_DAYS = 60;

const read = (store, key) => {
  try {
    return JSON.parse(store.getItem(key));
  } catch {
    return null;
  }
};

/** This tab's own name: the same after a reload, another one in a copy of the tab. */
export async function tabName() {
  const wished = sessionStorage.getItem(`${PREFIX}/tab`) ?? anyName();
  const name = (await held(wished)) ? wished : anyName();
  if (name !== wished) await held(name);
  sessionStorage.setItem(`${PREFIX}/tab`, name);
  return name;
}

/** A name that nobody else has; `crypto.randomUUID` is not there on a page that came from another machine by plain http. */
export function anyName() {
  return [...crypto.getRandomValues(new Uint32Array(4))].map((part) => part.toString(36)).join("");
}

/** Let go of this tab's name: what it kept is anybody's then. */
export let releaseTab = () => {};

/** Hold the name for as long as the page lives; false where another page holds it. */
function held(name) {
  if (!navigator.locks) return heldByWord(name);
  return new Promise((resolve) => {
    navigator.locks.request(`${PREFIX}/${name}`, { ifAvailable: true }, (lock) => {
      resolve(Boolean(lock));
      return lock ? new Promise((release) => (releaseTab = release)) : null;
    });
  });
}

// Such a page has no locks either: there the pages of one browser ask each other for their names.
const CALL_MS = 200;
const others = () => new BroadcastChannel(`${PREFIX}/names`);

async function heldByWord(name) {
  if ((await called()).has(name)) return false;
  const answering = others();
  answering.onmessage = ({ data }) => data.who && answering.postMessage({ name });
  releaseTab = () => answering.close();
  return true;
}

/** The names that other pages answer with. */
function called() {
  const [found, asking] = [new Set(), others()];
  asking.onmessage = ({ data }) => data.name && found.add(data.name);
  asking.postMessage({ who: true });
  return new Promise((resolve) => {
    setTimeout(() => {
      asking.close();
      resolve(found);
    }, CALL_MS);
  });
}

async function living() {
  if (!navigator.locks) return called();
  const { held: locks } = await navigator.locks.query();
  return new Set(locks.map((lock) => lock.name.slice(PREFIX.length + 1)));
}

/** The keeper of one tab in one folder. A bait goes by its file, or by the id it got when it was begun. */
export function keeper(folder, tab) {
  const start = `${PREFIX}/kept/${folder}/`;
  const keyOf = (name) => `${start}${tab}/${name}`;

  return {
    /** Keep it; says false where the browser has no room. */
    keep(state) {
      const key = keyOf(state.file ?? state.id);
      const entry = { ...state, when: Date.now() };
      try {
        localStorage.setItem(key, JSON.stringify(entry));
      } catch {
        try {
          localStorage.setItem(key, JSON.stringify({ ...entry, past: [], future: [] }));
        } catch {
          return false;
        }
      }
      return true;
    },
    drop: (name) => localStorage.removeItem(keyOf(name)),
    /** What was kept of a bait that was saved since: only what its file has not is kept further. */
    saved(name, written, unsaved) {
      const left = read(localStorage, keyOf(name));
      if (!left) return;
      this.drop(name);
      const now = written(left);
      if (unsaved(now)) this.keep(now);
    },
    mine: (name) => read(localStorage, keyOf(name)),
    /** Edits that nobody has in hand but this browser, newest first: [{key, entry}]. */
    async left(inHand) {
      const alive = await living();
      const old = Date.now() - LONGEST_DAYS * 86400e3;
      const found = [];
      for (const key of Object.keys(localStorage).filter((name) => name.startsWith(start))) {
        const entry = read(localStorage, key);
        const owner = key.slice(start.length).split("/")[0];
        if (!entry || entry.when < old) localStorage.removeItem(key);
        else if (key !== keyOf(inHand) && (owner === tab || !alive.has(owner))) found.push({ key, entry });
      }
      return found.sort((a, b) => b.entry.when - a.entry.when);
    },
    forget: (key) => localStorage.removeItem(key),
  };
}

/** Other pages of this browser on the same server: `heard(message)` what they say, `say(message)` to all of them. */
export function neighbours(tab, heard) {
  const channel = new BroadcastChannel(`${PREFIX}${location.pathname}`);
  channel.onmessage = ({ data }) => heard(data);
  return { say: (message) => channel.postMessage({ ...message, tab }) };
}

/** What this tab has laid under or over its bait: there again after a reload, gone with the tab. */
export const second = {
  get: () => read(sessionStorage, `${PREFIX}/second${location.pathname}`),
  /** Keep it; what the browser has no room for is gone after a reload. */
  set(value) {
    try {
      sessionStorage.setItem(`${PREFIX}/second${location.pathname}`, JSON.stringify(value));
    } catch {
      sessionStorage.removeItem(`${PREFIX}/second${location.pathname}`);
    }
  },
};

/** A wish of this browser's own (theme). */
export const wish = {
  get: (name) => localStorage.getItem(`${PREFIX}/${name}`),
  set: (name, value) => localStorage.setItem(`${PREFIX}/${name}`, value),
};

/** What another window said of the file that is open here; `on` = {tell(sentence), say(message), adopt(file's text)}. */
export function told(message, { file, sha256, unsaved }, on) {
  if (!file) return;
  if (message.opened === file) {
    on.tell(`${file} is open in another window, too.`);
    on.say({ also: file });
  } else if (message.also === file) {
    on.tell(`${file} is open in another window, too. Saving asks before it writes over the other's.`);
  } else if (message.away === file) {
    on.tell(`${file} is no longer in the folder. What is here is kept; saving will ask.`);
  } else if ([message.saved, message.changed].includes(file) && message.sha256 !== sha256) {
    const how = message.saved ? "saved in another window" : "changed by an editor";
    if (unsaved) on.tell(`${file} was ${how}. What you changed here is kept; saving will ask.`);
    else {
      on.adopt({ file, text: message.text, sha256: message.sha256 });
      on.tell(`${file} was ${how}; it is shown as it lies now.`);
    }
  }
}

/** Who comes back to the page may have been in an editor: `heard` is told what became of its file. */
export function returning(read, heard) {
  addEventListener("focus", async () => {
    const { file, sha256 } = read();
    if (!file) return;
    const { status, body } = await fetched(`recipe?file=${encodeURIComponent(file)}`).catch(() => ({}));
    if (file !== read().file || sha256 !== read().sha256) return; // it was saved meanwhile: this is what was there before
    if (status === 200) heard({ changed: file, sha256: body.sha256, text: body.text });
    else if (status === 404) heard({ away: file });
  });
}

// Questions to the server: numbered, one at a time, the newest waits, overtaken answers are dropped.
// Says when the server is gone, tries again until it is back, and tells the document when a new answer has been shown.

import { early } from "./early.js";
import { readMessage } from "./water/message.js";

const RETRY_MS = 2000;
const WATCH_MS = 5000; // an idle page looks so often whether the server is there

/** Ask for JSON. Resolves to {status, body}; throws where no server answers. */
export async function fetched(address, body, { signal, raw } = {}) {
  const options = body === undefined ? {} : { method: "POST", body: raw ? body : JSON.stringify(body) };
  if (body !== undefined) options.headers = { "Content-Type": raw ? "application/octet-stream" : "application/json" };
  const soon = body === undefined ? early(address) : undefined;
  const response = await (soon ?? fetch(address, { ...options, signal, cache: "no-store" }));
  const text = await response.text();
  let parsed = {};
  try {
    parsed = text ? JSON.parse(text) : {};
  } catch {
    parsed = { error: text.slice(0, 300) };
  }
  return { status: response.status, body: parsed };
}

/**
 * The asker of one page. `onAnswer(answer, asked)` shows an answer; `onGone(true|false|"moved")` tells whether the
 * server is there; `onError(sentence)` what it said where that was no answer; `onGlance(true|false)` that one is under
 * way, and that it is over.
 */
export function asker({ tab, onAnswer, onGone, onError, onGlance = () => {}, quiet = false }) {
  let number = Date.now(); // higher than any of this tab's before a reload
  let running = null; // {want, stop}
  let waiting = null;
  let gone = false;
  let heard = 0; // when the server answered last
  const held = new Map(); // parts of the last solid, by name: these need not come again

  function ask(question) {
    waiting = { ...question, since: question.since ?? performance.now() };
    if (running && running.want === "whole" && question.want === "glance") running.stop.abort();
    pump();
  }

  async function pump() {
    if (running || gone || !waiting) return;
    const question = waiting;
    waiting = null;
    const { since, asked, ...sent } = question;
    running = { want: question.want, stop: new AbortController() };
    onGlance(question.want === "glance");
    try {
      const answer = await answerTo({ ask: ++number, tab, holds: [...held.keys()], ...asked, ...sent }, running.stop.signal);
      if (answer) {
        onAnswer(answer, asked);
        if (!quiet) tellShown(answer, since);
      }
    } catch (error) {
      if (error.name !== "AbortError") lost(question);
    } finally {
      running = null;
      pump();
      if (!running) onGlance(false);
    }
  }

  async function answerTo(question, signal) {
    const { status, message } = await posted(question, signal);
    heard = performance.now();
    if (status === 200) return readMessage(message, held);
    if (status === 409) return null; // overtaken
    if (status === 404) onGone("moved");
    else onError(errorIn(message) ?? `The server answered ${status}.`);
    return null;
  }

  function lost(question) {
    waiting ??= question;
    if (gone) return;
    gone = true;
    onGone(true);
    setTimeout(tryAgain, RETRY_MS);
  }

  async function tryAgain() {
    try {
      const { status } = await fetched("shelf");
      gone = false;
      onGone(status === 404 ? "moved" : false);
      pump();
    } catch {
      setTimeout(tryAgain, RETRY_MS);
    }
  }

  async function look() {
    const idle = !document.hidden && !running && !gone && performance.now() - heard >= WATCH_MS;
    if (idle) {
      try {
        const { status } = await fetch("icon.svg", { method: "HEAD", cache: "no-store" });
        if (status === 404) return onGone("moved");
      } catch {
        lost(waiting);
      }
    }
    setTimeout(look, WATCH_MS);
  }

  if (!quiet) setTimeout(look, WATCH_MS);
  return { ask, lost: () => lost(waiting) };
}

/** What the server answers. By `fetch` it comes in pieces, which are put together a millisecond later. */
function posted(question, signal) {
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open("POST", "ask");
    request.responseType = "arraybuffer";
    request.setRequestHeader("Content-Type", "application/json");
    request.onload = () => {
      requestAnimationFrame(() => {}); // for what is made of it now: asked for after that, the frame may be one later
      resolve({ status: request.status, message: request.response });
    };
    request.onerror = () => reject(new TypeError("no server answers"));
    request.onabort = () => reject(new DOMException("overtaken", "AbortError"));
    signal.addEventListener("abort", () => request.abort());
    request.send(JSON.stringify(question));
  });
}

function errorIn(message) {
  try {
    return JSON.parse(new TextDecoder().decode(message)).error;
  } catch {
    return undefined;
  }
}

function tellShown(answer, since) {
  requestAnimationFrame(() => {
    // a task after the frame: what was drawn in it is on the screen
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = () => {
      const detail = { ask: answer.ask, answer_ms: answer.answer_ms, want: answer.want };
      document.dispatchEvent(
        new CustomEvent("bodygen:shown", { detail: { ...detail, hand_ms: performance.now() - since } }),
      );
      port1.close();
    };
    port2.postMessage(null);
  });
}

// Values that mend a doubt: asked for after the whole of an answer, as they take longer and no hand waits for them.

import { fetched } from "../asks.js";

/** `read()` gives what is asked about, {tab, file, text}; `put(ask, mends)` takes [{finding, words, changes}]. */
export function mending({ read, put }) {
  return async function look({ ask, want, findings }) {
    if (want !== "whole" || !findings?.length) return;
    try {
      const { status, body } = await fetched("mends", { ...read(), ask });
      if (status === 200) put(ask, body.mends);
    } catch {
      // the server is gone: the next ask says so
    }
  };
}

// Keys that work wherever the hand is: Ctrl (or Cmd) and a letter, but not while a sheet lies over the page.

/** `acts` = {letter: f(shift)}. */
export function keys(acts) {
  addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.altKey || document.querySelector("dialog[open]")) return;
    const act = acts[event.key.toLowerCase()];
    if (!act) return;
    event.preventDefault();
    act(event.shiftKey);
  });
}

// Along the foot: what the scale should read at every step, each with a box for what it really read.

import { el, mark, say } from "./element.js";
import { isFaint } from "./words.js";

export function scaleRow(element, hand) {
  const row = el("ol", { class: "steps" });
  const held = el("p", { class: "step-held", "aria-hidden": "true" }); // what lies on the scale at the step in hand
  element.append(held, el("div", { class: "steps-room" }, row));
  const steps = new Map();

  function step(stage) {
    const id = `weighed-${stage}`;
    const expected = el("output", { for: id, class: "figure" });
    const tolerance = el("span", { class: "tolerance figure" });
    const box = el("input", {
      ...{ type: "text", id, class: "figure", inputmode: "decimal", autocomplete: "off", enterkeyhint: "done" },
      ...{ "data-key": `weighed.${stage}`, placeholder: "scale read", "aria-label": `${stage}: the scale read` },
    });
    const about = el("small", { id: `${id}-about` });
    const error = el("span", { id: `${id}-refused`, class: "unseen" });
    box.setAttribute("aria-describedby", `${about.id} ${error.id}`);
    let since = 0;
    const edit = (final) => {
      const value = box.value.trim();
      // a bare number is in grams, as on the scale
      const text = value === "" ? null : /^[\d.]+$/.test(value) ? `${value} g` : value;
      hand.edit(`weighed.${stage}`, text, { final, hold: `weighed.${stage} ${since}` });
    };
    const tell = (words) => {
      say(held, `${stage}: ${words}`);
      const [own, all] = [item, element].map((one) => one.getBoundingClientRect());
      held.style.left = `${Math.max(0, Math.min(own.left, all.right - held.offsetWidth) - all.left)}px`;
    };
    const ask = () => tell(about.textContent.replace(/^and /, "as before, and "));
    box.addEventListener("focus", () => {
      since += 1;
      ask();
    });
    box.addEventListener("blur", () => say(held, ""));
    box.addEventListener("change", () => {
      edit(true);
      hand.rest();
    });
    const words = el("span", { class: "what" }, el("b", {}, stage), about);
    const item = el("li", {}, words, el("span", { class: "reading" }, expected, tolerance), box, error);
    let wrong = "";
    /** A reading that is refused is told where it was typed. */
    function refuse(refusal) {
      const now = refusal ? [refusal.message, refusal.accepted].filter(Boolean).join("\n") : "";
      if (now === wrong) return;
      wrong = now;
      mark(box, "aria-invalid", String(Boolean(now)));
      say(error, now);
      if (now) tell(now);
      else if (document.activeElement === box) ask();
      else say(held, "");
    }
    return { item, about, expected, tolerance, box, refuse };
  }

  return {
    show(state) {
      const scale = state.answer?.scale ?? [];
      for (const { stage } of scale) if (!steps.has(stage)) steps.set(stage, step(stage));
      const wanted = scale.map(({ stage }) => steps.get(stage).item);
      if (wanted.length !== row.children.length || wanted.some((item, index) => row.children[index] !== item))
        row.replaceChildren(...wanted);
      for (const { stage, text, mass_g, tolerance_g, weighed_g } of scale) {
        const { about, expected, tolerance, box, item, refuse } = steps.get(stage);
        say(about, text ?? "");
        say(expected, `${mass_g.toFixed(2)} g`);
        say(tolerance, tolerance_g ? `± ${tolerance_g.toFixed(2)}` : "");
        refuse(state.refused.find(({ key }) => key === `weighed.${stage}`));
        const changed = state.changes[`weighed.${stage}`];
        const value =
          changed === undefined
            ? weighed_g === null || weighed_g === undefined
              ? ""
              : `${Number(weighed_g.toFixed(3))} g`
            : (changed ?? "");
        if (document.activeElement !== box && box.value !== value) box.value = value;
        item.classList.toggle("weighed", value !== "");
      }
      const wrong = state.refused.some(({ key }) => key?.startsWith("weighed."));
      row.classList.toggle("faint", !wrong && isFaint(state, "scale"));
    },
    /** The readings in the boxes, by stage. */
    readings: () =>
      Object.fromEntries([...steps].map(([stage, { box }]) => [stage, box.value.trim()]).filter(([, value]) => value)),
  };
}

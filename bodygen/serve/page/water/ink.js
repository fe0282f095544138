// The page's colours as shaders want them: three shares of one each.

const INKS = ["paper", "ink", "water", "wood", "metal"];

/** Reads each ink off a hidden place in `element` (water.css has their names and what stands for them). */
export function readInks(element) {
  const probe = document.createElement("span");
  element.append(probe);
  const inks = {};
  for (const name of INKS) {
    probe.className = `water-ink-${name}`;
    inks[name] = shares(getComputedStyle(probe).color);
  }
  probe.remove();
  inks.inverted = light(inks.ink) > light(inks.paper) ? 1 : 0;
  return inks;
}

/** Of "rgb(1, 2, 3)", "color(srgb 0.1 0.2 0.3)" or "#010203". */
export function shares(text) {
  if (text.startsWith("#")) return [1, 3, 5].map((at) => parseInt(text.slice(at, at + 2), 16) / 255);
  const numbers = text.match(/[\d.]+/g).slice(0, 3).map(Number);
  return text.startsWith("color") ? numbers : numbers.map((number) => number / 255);
}

function light([r, g, b]) {
  return 0.3 * r + 0.6 * g + 0.1 * b;
}

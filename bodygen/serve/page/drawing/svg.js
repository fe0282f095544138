// SVG elements, made and changed.

const NAMES = "http://www.w3.org/2000/svg";

/** An element with attributes and, where said, a text. */
export function svg(name, attributes = {}, text = null) {
  const element = set(document.createElementNS(NAMES, name), attributes);
  if (text !== null) element.textContent = text;
  return element;
}

/** Sets what differs: an attribute that is written anew is laid out anew. */
export function set(element, attributes) {
  for (const [name, value] of Object.entries(attributes)) {
    if (element.getAttribute(name) !== String(value)) element.setAttribute(name, value);
  }
  return element;
}

// What a page asks for first, asked before its other modules are there: the shelf, and the recipe that it begins with,
// which the server then works out while the browser still reads the rest. It needs no other module, to be the first.

const begun = new Map(); // answers on their way, by address

/** The file to begin with, `wanted` in the address of the page; null where there is none. */
export function firstOf(shelf, wanted) {
  if (wanted && wanted !== "bench") return wanted;
  return shelf.first;
}

export const wanted = named(location.hash.slice(1));
export const recipeAt = (file) => `recipe?file=${encodeURIComponent(file)}`;

/** The answer that is on its way from there, once; undefined where nothing was asked. */
export function early(address) {
  const answer = begun.get(address);
  begun.delete(address);
  return answer;
}

/** What was asked for early and not used is not used any more: it grows old. */
export const over = () => begun.clear();

function named(hash) {
  try {
    return decodeURIComponent(hash);
  } catch {
    return ""; // no name that the page wrote
  }
}

function ask(address) {
  const answer = fetch(address, { cache: "no-store" });
  answer.catch(() => {}); // who takes it hears of it
  begun.set(address, answer);
  return answer;
}

const shelf = ask("shelf");
if (firstOf({ first: null }, wanted)) ask(recipeAt(wanted));
else
  shelf
    .then((answer) => answer.clone().json())
    .then((found) => ask(recipeAt(firstOf(found, wanted))))
    .catch(() => {}); // it is asked for again, and told then

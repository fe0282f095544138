// A number as people write it on the bench: a fraction of an inch, or no more digits than its step has.

const PARTS = 64;

/** `number` with its unit, such as "1-9/64 in", "28.6 mm", "0.52". */
export function written(number, unit, step) {
  const text = (unit === "in" && fraction(number)) || decimals(number, step);
  return unit ? `${text} ${unit}` : text;
}

function fraction(number) {
  const parts = number * PARTS;
  if (Math.abs(parts - Math.round(parts)) > 1e-4) return null;
  let [above, below] = [Math.abs(Math.round(parts)), PARTS];
  while (above % 2 === 0 && below > 1) [above, below] = [above / 2, below / 2];
  const [whole, rest] = [Math.floor(above / below), above % below];
  const sign = parts < 0 && above ? "-" : "";
  if (!rest) return `${sign}${whole}`;
  return `${sign}${whole ? `${whole}-` : ""}${rest}/${below}`;
}

function decimals(number, step) {
  const digits = Math.min(6, Math.max(0, Math.ceil(-Math.log10(step || 0.1) - 1e-9)));
  const text = number.toFixed(digits);
  return Number(text) === 0 ? (0).toFixed(digits) : text;
}

/** The multiple of `step` nearest to `number`, between `low` and `high` where these are numbers. */
export function stepped(number, { low, high }, step) {
  const kept = (value) => Math.min(high ?? Infinity, Math.max(low ?? -Infinity, value));
  return kept(step > 0 ? Math.round(kept(number) / step) * step : number);
}

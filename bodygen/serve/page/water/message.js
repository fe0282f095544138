// One answer of the server: a length, JSON, then the buffers that the JSON points into.

const FEW_NUMBERS = 3 * 65536; // of positions: their corners have numbers of two bytes
const BUFFERS = {
  positions: () => Float32Array,
  normals: () => Int16Array, // four of a corner, of which the last is none; 32767 is 1
  index: (part) => (part.positions.length > FEW_NUMBERS ? Uint32Array : Uint16Array),
};

/**
 * The answer in `message` (an ArrayBuffer); its solid's buffers are views into it, nothing is copied. `held`: buffers of
 * the last solid's parts by name, for those that come without; then it holds this one's.
 */
export function readMessage(message, held = new Map()) {
  const length = new DataView(message).getUint32(0, true);
  const answer = JSON.parse(new TextDecoder().decode(new Uint8Array(message, 4, length)));
  const start = 4 + length;
  const parts = answer.solid?.parts;
  if (!parts) return answer;
  const before = new Map(held);
  held.clear();
  for (const part of parts) {
    const known = part.positions ? null : before.get(part.name);
    for (const [name, kind] of Object.entries(BUFFERS)) {
      const [at, size] = part[name] ?? [0, 0];
      part[name] = known?.[name] ?? (size ? new (kind(part))(message, start + at, size) : null);
    }
    if (part.name) held.set(part.name, part);
  }
  return answer;
}

// One answer of the server: a length, JSON, then the buffers that the JSON points into.

const BUFFERS = { positions: Float32Array, normals: Float32Array, index: Uint32Array };

/** The answer in `message` (an ArrayBuffer); its solid's buffers are views into it, nothing is copied. */
export function readMessage(message) {
  const length = new DataView(message).getUint32(0, true);
  const answer = JSON.parse(new TextDecoder().decode(new Uint8Array(message, 4, length)));
  const start = 4 + length;
  for (const part of answer.solid?.parts ?? []) {
    for (const [name, Numbers] of Object.entries(BUFFERS)) {
      part[name] = part[name]?.[1] ? new Numbers(message, start + part[name][0], part[name][1]) : null;
    }
  }
  return answer;
}

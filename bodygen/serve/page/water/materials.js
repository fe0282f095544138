// Ink on paper, as shaders: an engraver's lines across the body, thicker where it is dark; on dark paper where it is light.

import { BackSide, DoubleSide, FrontSide, ShaderMaterial, Vector2, Vector3, Vector4 } from "../vendor/three.js";

export const REACH = 2.2; // lengths of the bait that the water is seen to, all round

// wash: of the water where one looks through its surface at this place; that is mixed in here, as a sheet that is
// blended over all of the picture takes a software renderer as long as half a bait
const PLACE = `
  uniform float span;
  varying vec3 inBody;
  varying vec3 inWorld;
  varying float wash;
  float washed(vec2 at) { return 0.3 * (1.0 - smoothstep(0.25, 1.0, length(at))); }
  vec4 placed() {
    vec4 world = modelMatrix * vec4(position, 1.0);
    inBody = position;
    inWorld = world.xyz;
    float fall = cameraPosition.z - inWorld.z;
    float through = clamp(cameraPosition.z / (abs(fall) < 1e-3 ? 1e-3 : fall), 0.0, 1.0);
    wash = washed(mix(cameraPosition.xy, inWorld.xy, through) / (REACH * span));
    return projectionMatrix * (viewMatrix * world);
  }`.replaceAll("REACH", String(REACH));

const SUN = "const vec3 sun = vec3(-0.350, -0.450, 0.821);";

const SHARED = `
  uniform vec3 ink, water;
  uniform float inverted, size, afloat;
  varying vec3 inBody;
  varying vec3 inWorld;
  varying float wash;
  vec3 wetted(vec3 colour, float deepest) {
    float deep = -inWorld.z / size;
    float under = afloat > 0.5 ? clamp(deep * 100.0, 0.0, 1.0) : 1.0;
    vec3 wet = mix(colour, water, under * min(deepest, 0.22 + 0.5 * max(deep, 0.0)));
    return mix(wet, water, wash * clamp(deep * 100.0 * sign(cameraPosition.z), 0.0, 1.0));
  }`;

// light is worked out at the corners: a software renderer has few pixels to spare
const LIT = `${PLACE}
  ${SUN}
  uniform float shine;
  varying float light;
  varying float glint;
  varying float side;
  void main() {
    gl_Position = placed();
    vec3 n = mat3(modelMatrix) * normal;
    vec3 eye = normalize(cameraPosition - inWorld);
    side = dot(n, eye);
    if (side < 0.0) n = -n;
    light = 0.5 + 0.5 * dot(n, sun);
    glint = shine > 0.0 ? shine * pow(max(dot(reflect(-sun, n), eye), 0.0), 24.0) : 0.0;
  }`;

// flat: the plane of each triangle from its own pixels; pitch 0: no lines; rim: ink where the surface turns away
const SURFACE = `${SHARED}
  ${SUN}
  uniform vec3 tone;
  uniform float flatly, pitch, alpha, rim, coated;
  uniform sampler2D coat;
  uniform vec4 coatBox;
  varying float light;
  varying float glint;
  varying float side;
  void main() {
    float lit = light;
    if (flatly > 0.5) lit = 0.5 + 0.5 * dot(normalize(cross(dFdx(inWorld), dFdy(inWorld))), sun);
    float dark = smoothstep(0.78, 0.12, lit);
    vec3 colour = tone;
    if (coated > 0.5) { // from the side, as through a mask: the left flank's picture lies above the right one's
      vec2 at = clamp((inBody.xz - coatBox.xy) / (coatBox.zw - coatBox.xy), 0.004, 0.996);
      vec4 paint = texture2D(coat, vec2(at.x, 0.5 * at.y + (inBody.y < 0.0 ? 0.5 : 0.0)));
      colour = mix(tone, paint.rgb, paint.a);
    }
    colour *= mix(1.0 - 0.16 * dark, 0.62 + 0.38 * lit, inverted);
    if (pitch > 0.0) {
      float amount = 0.62 * mix(dark, smoothstep(0.35, 1.0, lit), inverted);
      float run = (inBody.x + 0.22 * inBody.z) / (pitch * size);
      float blur = fwidth(run);
      float off = abs(fract(run) - 0.5) * 2.0;
      float line = amount < 0.03 ? 0.0 : clamp((amount + 2.0 * blur - off) / (4.0 * blur), 0.0, 1.0);
      line = mix(line, amount, clamp((blur - 0.2) * 4.0, 0.0, 1.0));
      colour = mix(colour, ink, line * mix(0.62, 0.34, inverted));
    }
    colour += glint;
    if (rim > 0.0) colour = mix(colour, ink, rim * clamp(2.4 - 4.0 * abs(side), 0.0, 1.0));
    colour = wetted(colour, 0.6);
    if (afloat > 0.5) {
      float edge = abs(inWorld.z) / max(fwidth(inWorld.z), 1e-5);
      colour = mix(colour, ink, clamp((1.5 - edge) * 1.2, 0.0, 0.8));
    }
    gl_FragColor = vec4(colour, alpha);
  }`;

const OUTLINE = `
  uniform vec2 room;
  uniform float width;
  ${PLACE}
  void main() {
    vec4 at = placed();
    vec3 facing = mat3(modelMatrix) * normal;
    vec2 out2 = (projectionMatrix * (viewMatrix * vec4(facing, 0.0))).xy * room;
    at.xy += (length(out2) > 1e-6 ? normalize(out2) : vec2(0.0)) * width * 2.0 / room * at.w;
    gl_Position = at;
  }`;

const LINES = `${SHARED}
  uniform float alpha;
  void main() { gl_FragColor = vec4(wetted(ink, 0.35), alpha); }`;

const WASHED = `${PLACE}
  void main() {
    gl_Position = placed();
    wash = washed(position.xy);
  }`;

const WASH = `
  uniform vec3 water;
  varying float wash;
  void main() { gl_FragColor = vec4(water * wash, wash); }`;

// a ring is a line at a distance of position.x, in shares of the bait's length, round its middle; position.z breaks it
const RINGS = `
  uniform float span, phase;
  varying float strength;
  void main() {
    float run = fract((position.x + phase) / RINGED) * RINGED;
    float turn = position.y;
    vec2 side = vec2(cos(turn), sin(turn));
    vec2 at = side * (0.1 + run) * vec2(1.0, 0.85) + vec2(sign(side.x) * 0.36 * smoothstep(0.0, 0.5, abs(side.x)), 0.0);
    float broken = smoothstep(-0.3, 0.5, sin(turn * 5.0 + position.x * 21.0) + 0.6 * sin(turn * 11.0 - position.x * 13.0));
    strength = broken * smoothstep(0.0, 0.08, run) * (1.0 - run / RINGED);
    gl_Position = projectionMatrix * (viewMatrix * vec4(at * span, 0.0, 1.0));
  }`.replaceAll("RINGED", "0.9");

const RING = `
  uniform vec3 ink, water;
  uniform float stir;
  varying float strength;
  void main() { gl_FragColor = vec4(mix(water, ink, 0.5), strength * mix(0.55, 0.9, stir)); }`;

/** Every uniform that all of the picture shares, by name; each material points at the same ones. */
export function sharedUniforms() {
  const colour = () => ({ value: new Vector3() });
  const number = (value) => ({ value });
  return {
    ink: colour(), water: colour(), inverted: number(0), size: number(30), afloat: number(1),
    room: { value: new Vector2(1, 1) }, width: number(1.3),
    coat: { value: null }, coatBox: { value: new Vector4() }, span: number(70), phase: number(0), stir: number(0),
  };
}

const PLAIN = `${PLACE}
  void main() { gl_Position = placed(); }`;

/** What a part is made of: opaque, or clear with `alpha`; `pitch`: from one of the engraver's lines to the next, in half lengths. */
export function surface(shared, { tone, pitch, alpha = 1, flat = false, shine = 0, rim = 0, coated = false, lifted = false }) {
  const own = { tone: { value: new Vector3(...tone) }, flatly: { value: flat ? 1 : 0 } };
  const plain = { pitch: { value: pitch }, alpha: { value: alpha }, shine: { value: shine }, rim: { value: rim }, coated: { value: coated ? 1 : 0 } };
  return new ShaderMaterial({
    vertexShader: LIT, fragmentShader: SURFACE, uniforms: { ...shared, ...own, ...plain },
    transparent: alpha < 1, depthWrite: alpha >= 1, side: alpha < 1 ? DoubleSide : FrontSide,
    // lines and paint lie on the skin: it gives way to them in depth
    polygonOffset: true, polygonOffsetFactor: lifted ? 0 : 1, polygonOffsetUnits: lifted ? 0 : 1,
  });
}

export function outline(shared) {
  const uniforms = { ...shared, alpha: { value: 1 } };
  return new ShaderMaterial({ vertexShader: OUTLINE, fragmentShader: LINES, uniforms, side: BackSide });
}

export function lines(shared, { alpha }) {
  const uniforms = { ...shared, alpha: { value: alpha } };
  return new ShaderMaterial({ vertexShader: PLAIN, fragmentShader: LINES, uniforms, transparent: alpha < 1 });
}

/** The water that nothing lies in: drawn before all else, on nothing. */
export function waterSheet(shared) {
  return new ShaderMaterial({
    vertexShader: WASHED, fragmentShader: WASH, uniforms: shared,
    depthTest: false, depthWrite: false, side: DoubleSide,
  });
}

export function waterRings(shared) {
  return new ShaderMaterial({
    vertexShader: RINGS, fragmentShader: RING, uniforms: shared, transparent: true, depthWrite: false,
  });
}

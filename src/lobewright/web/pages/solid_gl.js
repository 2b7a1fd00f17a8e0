// The drive's meshes on the graphics processor, drawn as an inked plate: parallel rays, flat light, dark lines, hatched cuts.
// Written against WebGL 2 alone: the picture needs a ring set on a moving line, cut faces and lines, which no general library
// brings, and little else.
import { BENT, PICTURE, STIFF, SURFACE, WHOLE } from "./solid_shaders.js";

const TURN = 2 * Math.PI;
const HATCHES = [[1, 1], [1, -1], [1, 0.3], [1, -0.3], [0.3, 1], [-0.3, 1], [1, 1.8]];
const HATCH_PX = 9;
const LIFT_MM = 0.1; // more than the chords of two parts that touch lie apart
const POINTED = 0.6; // share of the ink in what is pointed at

/** Splits the bytes of /api/solid: { head, arrays by name }. */
export function unpacked(buffer) {
  const size = new DataView(buffer).getUint32(0, true);
  const head = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, size)));
  const arrays = {};
  let from = 4 + size;
  for (const { name, type, count } of head.arrays) {
    arrays[name] = new (type === "f4" ? Float32Array : Uint32Array)(buffer, from, count);
    from += 4 * count;
  }
  return { head, arrays };
}

const rgb = (hex) => [1, 3, 5].map((k) => parseInt(hex.slice(k, k + 2), 16) / 255);

function program(gl, vertex, fragment) {
  const made = gl.createProgram();
  for (const [kind, text] of [[gl.VERTEX_SHADER, vertex], [gl.FRAGMENT_SHADER, fragment]]) {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, text);
    gl.compileShader(shader);
    gl.attachShader(made, shader);
  }
  gl.linkProgram(made);
  if (!gl.getProgramParameter(made, gl.LINK_STATUS) && !gl.isContextLost()) {
    const told = gl.getAttachedShaders(made).map((shader) => gl.getShaderInfoLog(shader)).join(" ");
    throw new Error(`the graphics program could not be made: ${told} ${gl.getProgramInfoLog(made)}`);
  }
  const at = {};
  for (let k = 0; k < gl.getProgramParameter(made, gl.ACTIVE_UNIFORMS); k += 1) {
    const { name } = gl.getActiveUniform(made, k);
    at[name] = gl.getUniformLocation(made, name);
  }
  return { made, at };
}

/** A sheet to draw on: colours, marks and depths that can be read again. */
function sheet(gl) {
  const part = () => {
    const texture = gl.createTexture();
    gl.bindTexture(gl.TEXTURE_2D, texture);
    for (const side of [gl.TEXTURE_MIN_FILTER, gl.TEXTURE_MAG_FILTER]) gl.texParameteri(gl.TEXTURE_2D, side, gl.NEAREST);
    for (const side of [gl.TEXTURE_WRAP_S, gl.TEXTURE_WRAP_T]) gl.texParameteri(gl.TEXTURE_2D, side, gl.CLAMP_TO_EDGE);
    return texture;
  };
  return { frame: gl.createFramebuffer(), colours: part(), marks: part(), depths: part(), wide: 0, high: 0 };
}

function sized(gl, one, wide, high) {
  if (one.wide === wide && one.high === high) return;
  Object.assign(one, { wide, high });
  for (const texture of [one.colours, one.marks]) {
    gl.bindTexture(gl.TEXTURE_2D, texture);
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA8, wide, high, 0, gl.RGBA, gl.UNSIGNED_BYTE, null);
  }
  gl.bindTexture(gl.TEXTURE_2D, one.depths);
  gl.texImage2D(gl.TEXTURE_2D, 0, gl.DEPTH_COMPONENT24, wide, high, 0, gl.DEPTH_COMPONENT, gl.UNSIGNED_INT, null);
  gl.bindFramebuffer(gl.FRAMEBUFFER, one.frame);
  gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.COLOR_ATTACHMENT0, gl.TEXTURE_2D, one.colours, 0);
  gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.COLOR_ATTACHMENT1, gl.TEXTURE_2D, one.marks, 0);
  gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.DEPTH_ATTACHMENT, gl.TEXTURE_2D, one.depths, 0);
  gl.drawBuffers([gl.COLOR_ATTACHMENT0, gl.COLOR_ATTACHMENT1]);
}

/** Draws into a canvas. The constructor throws where the browser has no WebGL 2. */
export class SolidPicture {
  constructor(canvas) {
    this.canvas = canvas;
    const gl = canvas.getContext("webgl2", { antialias: false, alpha: false });
    if (!gl) throw new Error("no WebGL 2");
    this.gl = gl;
    this.stiff = program(gl, STIFF, SURFACE);
    this.bent = program(gl, BENT, SURFACE);
    this.last = program(gl, WHOLE, PICTURE);
    this.sheets = [sheet(gl), sheet(gl)];
    this.things = [];
    this.drop = [];
  }

  /** Takes a drive: the head and arrays of `unpacked`. */
  load({ head, arrays }) {
    const { gl } = this;
    for (const forget of this.drop) forget();
    const kept = (target, data) => {
      const buffer = gl.createBuffer();
      gl.bindBuffer(target, buffer);
      gl.bufferData(target, data, gl.STATIC_DRAW);
      this.drop.push(() => gl.deleteBuffer(buffer));
      return buffer;
    };
    this.drop = [];
    gl.bindVertexArray(null);
    const corners = kept(gl.ELEMENT_ARRAY_BUFFER, arrays.triangles);
    const layout = (data, floats) => {
      const array = gl.createVertexArray();
      gl.bindVertexArray(array);
      this.drop.push(() => gl.deleteVertexArray(array));
      kept(gl.ARRAY_BUFFER, data);
      const stride = 4 * (floats + 1);
      gl.enableVertexAttribArray(0);
      gl.vertexAttribPointer(0, Math.min(floats, 4), gl.FLOAT, false, stride, 0);
      gl.enableVertexAttribArray(1);
      gl.vertexAttribPointer(1, 4, gl.BYTE, true, stride, 4 * floats);
      if (floats > 4) {
        gl.enableVertexAttribArray(2);
        gl.vertexAttribPointer(2, 1, gl.FLOAT, false, stride, 16);
      }
      gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, corners);
      gl.bindVertexArray(null);
      return array;
    };
    this.stiff.array = layout(arrays.stiff ?? new Uint32Array(0), 3);
    this.bent.array = layout(arrays.bent ?? new Uint32Array(0), 5);
    this.line = gl.createTexture();
    this.drop.push(() => gl.deleteTexture(this.line));
    gl.bindTexture(gl.TEXTURE_2D, this.line);
    for (const side of [gl.TEXTURE_MIN_FILTER, gl.TEXTURE_MAG_FILTER]) gl.texParameteri(gl.TEXTURE_2D, side, gl.NEAREST);
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA32F, arrays.line.length / 4, 1, 0, gl.RGBA, gl.FLOAT, arrays.line);
    this.radius_mm = head.radius_mm;
    this.groups = Object.keys(head.groups);
    this.things = head.parts.flatMap((part, index) => part.places.map((place) => ({ part, index, place })));
    this.things.forEach((thing, k) => { thing.mark = [((k + 1) & 255) / 255, ((k + 1) >> 8) / 255]; });
  }

  /** Draws a scene: { axes, middle, px_per_mm, reach_mm, angles by member, states and colours by group, planes, paper, ink,
   *  chosen (a set of indices of parts), alone (others are seen through), chosen_ink, fine (pixels drawn for one of the page's) }. */
  draw(scene) {
    const { gl, canvas } = this;
    const [wide, high] = [canvas.clientWidth, canvas.clientHeight].map((size) => Math.max(1, Math.round(size * scene.fine)));
    if (canvas.width !== wide || canvas.height !== high) Object.assign(canvas, { width: wide, height: high });
    gl.enable(gl.DEPTH_TEST);
    for (const [layer, one] of this.sheets.entries()) {
      sized(gl, one, wide, high);
      gl.bindFramebuffer(gl.FRAMEBUFFER, one.frame);
      gl.viewport(0, 0, wide, high);
      gl.clearBufferfv(gl.COLOR, 0, [0, 0, 0, 0]);
      gl.clearBufferfv(gl.COLOR, 1, [0, 0, 0, 0]);
      gl.clearBufferfv(gl.DEPTH, 0, [1]);
      for (const bent of [false, true]) this.#parts(scene, layer === 1, bent, wide, high);
    }
    this.#compose(scene, wide, high);
    this.drawn = true;
  }

  #parts(scene, thin, bent, wide, high) {
    const { gl } = this;
    const { made, at, array } = bent ? this.bent : this.stiff;
    gl.useProgram(made);
    gl.bindVertexArray(array);
    const px = scene.px_per_mm * scene.fine;
    gl.uniformMatrix3fv(at.axes, false, scene.axes.flat());
    gl.uniform3fv(at.middle, scene.middle);
    gl.uniform3f(at.scale, (2 * px) / wide, (2 * px) / high, 1 / scene.reach_mm);
    gl.uniform4fv(at.first, scene.planes[0] ?? [0, 0, 1, 0]);
    gl.uniform4fv(at.second, scene.planes[1] ?? [0, 0, 1, 0]);
    gl.uniform3fv(at.paper, rgb(scene.paper));
    gl.uniform3fv(at.ink, rgb(scene.ink));
    gl.uniform1f(at.line_mm, 0.55 / scene.px_per_mm);
    gl.uniform1f(at.lift, LIFT_MM / (2 * scene.reach_mm));
    if (bent) {
      gl.activeTexture(gl.TEXTURE0);
      gl.bindTexture(gl.TEXTURE_2D, this.line);
      gl.uniform1i(at.line, 0);
    }
    for (const { part, index, place, mark } of this.things) {
      if (part.bent !== bent) continue;
      const state = scene.states[part.group];
      // Of a part that is looked for everything else is seen through.
      const through = scene.chosen.size && scene.alone ? !scene.chosen.has(index) : state === "through";
      if (state === "hidden" && !scene.chosen.has(index)) continue;
      if (through !== thin) continue;
      const [x, y, z, turn, over] = place;
      const way = over ? -1 : 1;
      const angle = bent ? 0 : scene.angles[part.member];
      gl.uniform4f(at.place, x, y, z, way);
      gl.uniform4f(at.turned, Math.cos(turn), Math.sin(turn), Math.cos(angle), Math.sin(angle));
      if (bent) {
        const [generator, flexible] = [way * scene.angles.generator, way * scene.angles.flexible];
        gl.uniform3f(at.ride, (flexible - generator) % TURN, generator % TURN, this.radius_mm);
      }
      gl.uniform1i(at.cuts, state === "whole" ? 0 : scene.planes.length);
      const colour = rgb(scene.colours[part.group]);
      const ink = scene.chosen.has(index) ? POINTED : 0;
      gl.uniform3fv(at.colour, colour.map((value, k) => (1 - ink) * value + ink * rgb(scene.chosen_ink)[k]));
      const [c, s] = HATCHES[this.groups.indexOf(part.group) % HATCHES.length];
      const gap = part.designation ? 0 : HATCH_PX / scene.px_per_mm;
      gl.uniform3f(at.hatch, c / Math.hypot(c, s), s / Math.hypot(c, s), gap);
      gl.uniform2fv(at.mark, mark);
      gl.drawElements(gl.TRIANGLES, part.count, gl.UNSIGNED_INT, 4 * part.first);
    }
    gl.bindVertexArray(null);
  }

  #compose(scene, wide, high) {
    const { gl } = this;
    const { made, at } = this.last;
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    gl.viewport(0, 0, wide, high);
    gl.disable(gl.DEPTH_TEST);
    gl.useProgram(made);
    this.sheets.flatMap(({ colours, marks, depths }) => [colours, marks, depths]).forEach((texture, unit) => {
      gl.activeTexture(gl.TEXTURE0 + unit);
      gl.bindTexture(gl.TEXTURE_2D, texture);
    });
    ["colours", "sheets", "depths", "thin_colours", "thin_sheets", "thin_depths"].forEach((name, unit) => gl.uniform1i(at[name], unit));
    gl.uniform3fv(at.paper, rgb(scene.paper));
    gl.uniform3fv(at.ink, rgb(scene.ink));
    // Half a millimetre beyond what a surface at 60° to the rays gains in a pixel, as a share of the whole depth.
    gl.uniform1f(at.bend, (0.5 + 1 / (scene.px_per_mm * scene.fine)) / (2 * scene.reach_mm));
    gl.drawArrays(gl.TRIANGLES, 0, 3);
  }

  /** Index of the part seen at a place of the page's pixels from the canvas's upper left corner; −1 for none. */
  under(x, y) {
    const { gl, canvas } = this;
    const fine = canvas.width / canvas.clientWidth;
    for (const { frame } of this.sheets) {
      const found = new Uint8Array(4);
      gl.bindFramebuffer(gl.FRAMEBUFFER, frame);
      gl.readBuffer(gl.COLOR_ATTACHMENT1);
      gl.readPixels(Math.floor(x * fine), canvas.height - 1 - Math.floor(y * fine), 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, found);
      const thing = this.things[found[0] + 256 * found[1] - 1];
      if (thing) return thing.index;
    }
    return -1;
  }
}

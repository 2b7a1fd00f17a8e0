// Paints display lists (documented in picture/display.py) on a canvas. It knows the six primitives and nothing else.

export const TURN = 2 * Math.PI;

const outlines = new WeakMap();

function outlineOf(item) {
  let kept = outlines.get(item);
  if (kept) return kept;
  kept = new Path2D();
  for (const loop of item.loops) {
    kept.moveTo(loop[0], loop[1]);
    for (let k = 2; k < loop.length; k += 2) kept.lineTo(loop[k], loop[k + 1]);
    if (item.closed !== false) kept.closePath();
  }
  outlines.set(item, kept);
  return kept;
}

/** Paints pictures on one canvas. `colours` maps roles to colours; sizes in CSS pixels, `density` device pixels a pixel. */
export class Painter {
  constructor(canvas) {
    this.canvas = canvas;
    this.context = canvas.getContext("2d");
    this.hatches = new Map();
  }

  paint(picture, { width, height, density, colours, font }) {
    const { canvas, context } = this;
    const [w, h] = [Math.round(width * density), Math.round(height * density)];
    if (canvas.width !== w || canvas.height !== h) [canvas.width, canvas.height] = [w, h];
    const [x0, y0, x1, y1] = picture.view;
    const scale = Math.min(w / (x1 - x0), h / (y1 - y0));
    Object.assign(this, { colours, font, density, unit: density / scale });
    context.setTransform(1, 0, 0, 1, 0, 0);
    context.clearRect(0, 0, w, h);
    context.setTransform(scale, 0, 0, -scale, w / 2 - (scale * (x0 + x1)) / 2, h / 2 + (scale * (y0 + y1)) / 2);
    context.lineJoin = "round";
    for (const item of picture.items) this[item.kind](item);
  }

  ink(shape, { fill, hatch, line, line_px: wide = 1, dash_px: dash = 0 }) {
    const { context, unit } = this;
    for (const style of [fill && this.colours[fill], hatch && this.hatch(hatch)]) {
      if (!style) continue;
      context.fillStyle = style;
      context.fill(shape, "evenodd");
    }
    if (!line) return;
    context.strokeStyle = this.colours[line];
    context.lineWidth = wide * unit;
    context.setLineDash(dash ? [dash * unit] : []);
    context.stroke(shape);
  }

  hatch(role) {
    const key = `${this.colours[role]} ${this.density}`;
    if (!this.hatches.has(key)) {
      const size = Math.round(8 * this.density);
      const tile = document.createElement("canvas");
      tile.width = tile.height = size;
      const pen = tile.getContext("2d");
      pen.strokeStyle = this.colours[role];
      pen.globalAlpha = 0.55;
      pen.lineWidth = this.density;
      pen.beginPath();
      for (const off of [-size, 0, size]) {
        pen.moveTo(off - 1, size + 1);
        pen.lineTo(off + size + 1, -1);
      }
      pen.stroke();
      this.hatches.set(key, this.context.createPattern(tile, "repeat"));
    }
    const pattern = this.hatches.get(key);
    const size = this.unit / this.density;
    pattern.setTransform(new DOMMatrix([size, 0, 0, size, 0, 0]));
    return pattern;
  }

  path(item) {
    this.ink(outlineOf(item), item);
  }

  disc(item) {
    const shape = new Path2D();
    shape.arc(item.centre[0], item.centre[1], item.radius, 0, TURN);
    this.ink(shape, item);
  }

  ring_arc({ centre: [x, y], inner, outer, start_rad: start, sweep_rad: sweep, ...look }) {
    const shape = new Path2D();
    shape.arc(x, y, outer, start, start + sweep, sweep < 0);
    shape.arc(x, y, inner, start + sweep, start, sweep >= 0);
    shape.closePath();
    this.ink(shape, look);
  }

  text({ at: [x, y], text: words, size_px: size = 13, colour = "ink", anchor = "start", angle_rad: angle = 0, strong, largest }) {
    const { context, unit } = this;
    const px = Math.min(size, (largest ?? Infinity) / unit);
    context.save();
    context.translate(x, y);
    context.rotate(angle);
    context.scale(unit, -unit);
    context.font = `${strong ? "600 " : ""}${px}px ${this.font}`;
    context.textAlign = { start: "left", middle: "center", end: "right" }[anchor];
    context.fillStyle = this.colours[colour];
    context.fillText(words, 0, 0);
    context.restore();
  }

  arrow({ tail: [x0, y0], head: [x1, y1], bow = 0, colour = "ink", line_px: wide = 1.5 }) {
    const length = Math.hypot(x1 - x0, y1 - y0);
    if (length === 0) return;
    const [cx, cy] = [(x0 + x1) / 2 - (2 * bow * (y1 - y0)) / length, (y0 + y1) / 2 + (2 * bow * (x1 - x0)) / length];
    const end = Math.atan2(y1 - cy, x1 - cx);
    const size = (5 + 2.5 * wide) * this.unit;
    const [bx, by] = [x1 - size * Math.cos(end), y1 - size * Math.sin(end)];
    const [hx, hy] = [-0.38 * size * Math.sin(end), 0.38 * size * Math.cos(end)];
    const shaft = new Path2D();
    shaft.moveTo(x0, y0);
    shaft.quadraticCurveTo(cx, cy, (x1 + bx) / 2, (y1 + by) / 2);
    this.ink(shaft, { line: colour, line_px: wide });
    this.ink(outlineOf({ loops: [[x1, y1, bx + hx, by + hy, bx - hx, by - hy]] }), { fill: colour });
  }

  group({ items, placements = [[0, 0, 0]], fade = 1, clip }) {
    const { context } = this;
    context.save();
    context.globalAlpha *= fade;
    if (clip) {
      context.beginPath();
      context.rect(clip[0], clip[1], clip[2] - clip[0], clip[3] - clip[1]);
      context.clip();
    }
    for (const [x, y, angle] of placements) {
      context.save();
      context.translate(x, y);
      context.rotate(angle);
      for (const item of items) this[item.kind](item);
      context.restore();
    }
    context.restore();
  }
}

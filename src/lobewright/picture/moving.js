// The moving picture of a strain wave drive: one custom element.
//
// It is one file on purpose, longer than the house allows elsewhere: exported pages inline it with what it imports before it,
// for an inline module can import nothing (picture/page.py puts them together). Its sections, each using only those above it:
//   1 pose        where everything is at an angle; the twin of pose() in make/moving_page.py
//   2 display     makers of the six primitives (documented in picture/display.py)
//   3 drive       scene of the drive seen along its axis
//   4 unrolled    scene of the same drive, unrolled
//   5 mesh        gaps between teeth; the twin of make/moving_gaps.py
//   6 close       scene of a few teeth, close up, with their gaps
//   7 element     time, controls, readout; the only part that touches the document
// Lengths in mm, angles in rad, y up, anticlockwise positive; line widths and text sizes in pixels.

import { Painting, say } from "./element.js";
import { Painter, TURN } from "./painter.js";

// ---- 1 pose ---------------------------------------------------------------------------------------------------

/** The part of `value` that is left in [0, size). */
export function wrap(value, size) {
  const left = value % size;
  return left < 0 ? left + size : left;
}

/** The angle nearest to `near` that differs from `angle` by whole turns. */
export function unwrap(angle, near) {
  return angle + TURN * Math.round((near - angle) / TURN);
}

/** Neutral line at an arc length of any size: [x, y, normal angle], straight between samples. */
export function along(shape, arc) {
  const size = shape.x_mm.length;
  const place = wrap(arc / (TURN * shape.radius_mm), 1) * size;
  const first = Math.min(Math.floor(place), size - 1);
  const second = (first + 1) % size;
  const part = place - first;
  const { x_mm: x, y_mm: y, normal_angle_rad: normal } = shape;
  const step = unwrap(normal[second] - normal[first], 0);
  return [
    x[first] + part * (x[second] - x[first]),
    y[first] + part * (y[second] - y[first]),
    normal[first] + part * step,
  ];
}

/** Where everything is at a picture angle (the generator's, unless it is held). Teeth stand in the generator's frame. */
export function pose(parameters, angle) {
  const { shape, rows, turns } = parameters;
  const shift = (turns.flexible - turns.generator) * angle;
  return {
    generator_rad: turns.generator * angle,
    flexible_rad: turns.flexible * angle,
    rings_rad: turns.rings.map((ring) => ring * angle),
    shift_rad: shift,
    teeth: rows.map((row) =>
      Array.from({ length: row.teeth }, (_, k) => along(shape, shape.radius_mm * ((TURN * k) / row.teeth + shift)))),
  };
}

/**
 * The same drive with its deflection drawn `times` as large: not true geometry. Every point of the neutral line stands
 * `times` as far from the round one, its normal is turned `times` as far, and the generator follows the line.
 */
export function magnified(parameters, times) {
  if (times === 1) return parameters;
  const { shape } = parameters;
  const size = shape.x_mm.length;
  const moves = shape.x_mm.map((x, k) => {
    const angle = (TURN * k) / size;
    return [x - shape.radius_mm * Math.cos(angle), shape.y_mm[k] - shape.radius_mm * Math.sin(angle),
      unwrap(shape.normal_angle_rad[k] - angle, 0)];
  });
  const more = times - 1;
  const follow = (x, y) => {
    if (x === 0 && y === 0) return [x, y];
    const place = wrap(Math.atan2(y, x) / TURN, 1) * size;
    const [first, part] = [Math.floor(place) % size, place - Math.floor(place)];
    const [near, far] = [moves[first], moves[(first + 1) % size]];
    return [x + more * (near[0] + part * (far[0] - near[0])), y + more * (near[1] + part * (far[1] - near[1]))];
  };
  const wheels = parameters.wheels.map((wheel) => {
    if (!wheel.outline_mm.length) {
      const [x, y] = follow(wheel.x_mm, wheel.y_mm);
      return { ...wheel, x_mm: x, y_mm: y };
    }
    const outline = [];
    for (let k = 0; k < wheel.outline_mm.length; k += 2) outline.push(...follow(wheel.outline_mm[k], wheel.outline_mm[k + 1]));
    return { ...wheel, outline_mm: outline };
  });
  return {
    ...parameters, times, wheels,
    shape: {
      ...shape,
      x_mm: shape.x_mm.map((x, k) => x + more * moves[k][0]),
      y_mm: shape.y_mm.map((y, k) => y + more * moves[k][1]),
      normal_angle_rad: shape.normal_angle_rad.map((normal, k) => normal + more * moves[k][2]),
    },
  };
}

/** Says plainly that a picture is not true geometry; nothing where it is. */
export function timesWords({ times = 1 }) {
  return times === 1 ? "" : `Deflection drawn ${times} times: not true geometry`;
}

/** Pitches that a tooth may stand off the middle of its space and still count as lined up. */
export const LINED_UP = 0.1;

/**
 * For each sample of the neutral line: 0 racks not lined up there, 1 lined up but teeth apart, 2 lined up and in mesh.
 * The tooth is looked at halfway up, for that is where it meets the ring. The places stand still in the generator's
 * frame.
 */
export function lineUp(parameters, index) {
  const { shape, rings, rows } = parameters;
  const ring = rings[index];
  const { teeth, outline_mm: outline } = rows[ring.row];
  const tip = Math.max(...outline.filter((_, k) => k % 2));
  const half = (outline[1] + tip) / 2;
  const size = shape.x_mm.length;
  return shape.x_mm.map((x, k) => {
    const [y, normal] = [shape.y_mm[k], shape.normal_angle_rad[k]];
    const [c, s] = [Math.cos(normal), Math.sin(normal)];
    const polar = unwrap(Math.atan2(y + half * s, x + half * c), (TURN * k) / size);
    const ahead = (ring.teeth * polar) / TURN - (teeth * k) / size;
    if (Math.abs(ahead - Math.round(ahead)) > LINED_UP) return 0;
    return Math.hypot(x + tip * c, y + tip * s) > ring.tip_radius_mm ? 2 : 1;
  });
}

/** Runs of equal, non-zero state round the closed line: [{ state, from, to }] as material labels, `to` above `from`. */
export function runsOf(states) {
  const size = states.length;
  const start = states.findIndex((state, k) => state !== states[wrap(k - 1, size)]);
  if (start < 0) return states[0] ? [{ state: states[0], from: 0, to: TURN }] : [];
  const runs = [];
  for (let k = start; k < start + size; k += 1) {
    const state = states[k % size];
    const open = runs[runs.length - 1];
    if (open && open.state === state) open.to = (TURN * (k + 0.5)) / size;
    else runs.push({ state, from: (TURN * (k - 0.5)) / size, to: (TURN * (k + 0.5)) / size });
  }
  return runs.filter((run) => run.state > 0);
}

/**
 * Pushes of all teeth on a ring under load case `load`: rows [x, y, force x, force y] in mm and N, generator's frame.
 * Between the places where forces are known they are straight; the twin of pushes_at() in make/moving_loads.py.
 */
export function pushesAt(parameters, load, ring, at) {
  const { height_mm: height, cases } = parameters.loads;
  const { along_n: along, out_n: out, first_label_rad: label } = cases[load].rings[ring];
  const teeth = at.teeth[parameters.rings[ring].row];
  const count = teeth.length;
  return teeth.map(([x, y, normal], k) => {
    const place = k + ((at.shift_rad - label) * count) / TURN;
    const [first, part] = [Math.floor(place), place - Math.floor(place)];
    const [near, far] = [wrap(first, count), wrap(first + 1, count)];
    const [u, v] = [along, out].map((known) => (1 - part) * known[near] + part * known[far]);
    const [c, s] = [Math.cos(normal), Math.sin(normal)];
    return [x + height * c, y + height * s, v * c - u * s, v * s + u * c];
  });
}

/** Picture angle that lets one tooth of row `row` pass a lobe. */
export function toothStep(parameters, row) {
  const rate = Math.abs(parameters.turns.flexible - parameters.turns.generator) * parameters.rows[row].teeth;
  return rate > 0 ? TURN / rate : TURN / parameters.rows[row].teeth;
}

/** Signed turns of a named member while the picture's angle goes once round. */
export function turnsOf(parameters, member) {
  const { turns, rings } = parameters;
  if (member === "generator" || member === "flexible") return turns[member];
  return turns.rings[rings.findIndex((ring) => ring.name === member)];
}

// ---- 2 display ------------------------------------------------------------------------------------------------

const path = (loops, look = {}) => ({ kind: "path", loops, ...look });
const disc = (centre, radius, look = {}) => ({ kind: "disc", centre, radius, ...look });
const ringArc = (inner, outer, start, sweep, look = {}) =>
  ({ kind: "ring_arc", centre: [0, 0], inner, outer, start_rad: start, sweep_rad: sweep, ...look });
const text = (at, words, look = {}) => ({ kind: "text", at, text: words, ...look });
const arrow = (tail, head, look = {}) => ({ kind: "arrow", tail, head, ...look });
const group = (items, placements = [[0, 0, 0]], look = {}) => ({ kind: "group", items, placements, ...look });
/** Words on a patch of paper, so that they can be read on anything; `unit` is the size of a pixel. */
const label = ([x, y], words, unit, look = {}) => {
  const [wide, high] = [(7.6 * words.length + 8) * unit, 19 * unit];
  const left = x - { start: 4 * unit, middle: wide / 2, end: wide - 4 * unit }[look.anchor ?? "start"];
  const low = y - 5 * unit;
  return [path([[left, low, left + wide, low, left + wide, low + high, left, low + high]], { fill: "paper" }),
    text([x, y], words, { size_px: 14, strong: true, ...look })];
};
const RING_ROLES = ["ring_a", "ring_b"];
const ringRole = (index) => RING_ROLES[index % RING_ROLES.length];

function circle(radius, x = 0, y = 0, steps = 360) {
  const points = [];
  for (let k = 0; k < steps; k += 1) {
    points.push(x + radius * Math.cos((TURN * k) / steps), y + radius * Math.sin((TURN * k) / steps));
  }
  return points;
}

/** Flat points of one pitch with the run turned anticlockwise, whatever way it was given. */
function ascending(points, measure) {
  const last = points.length - 2;
  if (measure(points[last], points[last + 1]) >= measure(points[0], points[1])) return points;
  const turned = [];
  for (let k = last; k >= 0; k -= 2) turned.push(points[k], points[k + 1]);
  return turned;
}

/** Flat points without those that stand within `slack` of the straight line between kept neighbours. */
export function thin(points, slack) {
  const count = points.length / 2;
  const keep = new Uint8Array(count);
  keep[0] = keep[count - 1] = 1;
  const open = [[0, count - 1]];
  while (open.length) {
    const [first, last] = open.pop();
    const [x, y] = [points[2 * first], points[2 * first + 1]];
    const [dx, dy] = [points[2 * last] - x, points[2 * last + 1] - y];
    const length = Math.hypot(dx, dy);
    let [most, at] = [slack, -1];
    for (let k = first + 1; k < last; k += 1) {
      const [ex, ey] = [points[2 * k] - x, points[2 * k + 1] - y];
      const off = length ? Math.abs(dx * ey - dy * ex) / length : Math.hypot(ex, ey);
      if (off > most) [most, at] = [off, k];
    }
    if (at < 0) continue;
    keep[at] = 1;
    open.push([first, at], [at, last]);
  }
  return points.filter((_, k) => keep[k >> 1]);
}

// ---- 3 drive --------------------------------------------------------------------------------------------------

function ringLoop(ring) {
  const points = [];
  for (let k = 0; k < ring.teeth; k += 1) {
    const [c, s] = [Math.cos((TURN * k) / ring.teeth), Math.sin((TURN * k) / ring.teeth)];
    for (let j = 0; j < ring.outline.length; j += 2) {
      const [x, y] = [ring.outline[j], ring.outline[j + 1]];
      points.push(c * x - s * y, s * x + c * y);
    }
  }
  return points;
}

function innerLoop(shape, offset) {
  const points = [];
  shape.x_mm.forEach((x, k) => {
    const angle = shape.normal_angle_rad[k];
    points.push(x - offset * Math.cos(angle), shape.y_mm[k] - offset * Math.sin(angle));
  });
  return points;
}

function wheelLoop(wheel) {
  return wheel.outline_mm.length ? wheel.outline_mm : circle(wheel.radius_mm, wheel.x_mm, wheel.y_mm, 180);
}

const holdsCentre = (wheel) =>
  wheel.outline_mm.length > 0 || Math.hypot(wheel.x_mm, wheel.y_mm) < wheel.radius_mm;

const generatorFill = (parameters) =>
  ({ fill: "generator_soft", ...(parameters.roles.held === "generator" ? { hatch: "generator" } : {}) });

/** Bodies of the generator in its frame. Small rollers get an arm from the hub. */
function generatorItems(parameters, innerRadius) {
  const look = { ...generatorFill(parameters), line: "generator", line_px: 1.5 };
  const hub = 0.13 * innerRadius;
  const arms = [];
  const bodies = [];
  for (const wheel of parameters.wheels) {
    bodies.push(path([wheelLoop(wheel)], look));
    if (holdsCentre(wheel)) continue;
    const far = Math.hypot(wheel.x_mm, wheel.y_mm);
    const [ux, uy] = [wheel.x_mm / far, wheel.y_mm / far];
    const half = 0.42 * hub;
    arms.push(path([[-uy * half, ux * half, wheel.x_mm - uy * half, wheel.y_mm + ux * half,
      wheel.x_mm + uy * half, wheel.y_mm - ux * half, uy * half, -ux * half]], look));
    bodies.push(disc([wheel.x_mm, wheel.y_mm], 0.3 * wheel.radius_mm, { fill: "generator" }));
  }
  // Of two discs one stands behind the other: its edge shows through, so that both lobes can be followed.
  const edges = parameters.wheels.filter(holdsCentre).map((wheel) => path([wheelLoop(wheel)], { line: "generator" }));
  return [...arms, ...bodies, ...edges, disc([0, 0], hub, { fill: "generator" })];
}

/** Everything of the scenes that does not change with the angle, made once for a set of parameters. */
export function prepare(parameters, widePx = 1200) {
  const { shape } = parameters;
  const outer = Math.max(...parameters.rings.map((ring) => ring.outer_radius_mm));
  const slack = (0.08 * 2.26 * outer) / widePx; // a twelfth of a pixel of the round picture, `widePx` of them wide
  const rings = parameters.rings.map((ring) => ({
    ...ring,
    outline: thin(ascending(ring.outline_mm, (x, y) => Math.atan2(y, x)), slack),
  }));
  const rows = parameters.rows.map((row) => {
    const outline = thin(ascending(row.outline_mm, (x) => x), slack);
    return { ...row, outline, tip: Math.max(...outline.filter((_, k) => k % 2)) };
  });
  const inner = innerLoop(shape, parameters.inner_offset_mm);
  const radii = shape.x_mm.map((x, k) => Math.hypot(x, shape.y_mm[k]));
  const innerRadius = Math.min(...radii) - parameters.inner_offset_mm;
  const tips = Math.max(...radii) + Math.max(...rows.map((row) => row.tip));
  return {
    parameters, rings, rows, inner, innerRadius, outer,
    edge: Math.max(1.13 * outer, 1.03 * tips), // half the side of the round picture
    bodies: rings.map((ring, index) => path([circle(ring.outer_radius_mm), ringLoop(ring)], {
      fill: `${ringRole(index)}_soft`,
      line: ringRole(index), // one pixel wide: thicker lines of thousands of pieces take a browser several times as long
      ...(parameters.roles.held === ring.name ? { hatch: ringRole(index) } : {}),
    })),
    generator: generatorItems(parameters, innerRadius),
    lines: rings.map((_, index) => runsOf(lineUp(parameters, index))),
    scale: dial(outer),
    force: forceScale(parameters, outer),
    bands: new Map(),
  };
}

/** The largest of 1, 2 or 5 times a power of ten that is not above `most`. */
export function niceStep(most) {
  const power = 10 ** Math.floor(Math.log10(most) + 1e-9);
  return [5, 2, 1].map((size) => size * power).find((size) => size <= most * (1 + 1e-9));
}

/** One scale for all load cases: the largest force of any, mm a newton, and the bar that tells it. */
function forceScale({ loads }, outer) {
  if (!loads) return null;
  const sizes = loads.cases.flatMap((one) => one.rings.flatMap((ring) => [
    ...ring.along_n.map((along, k) => Math.hypot(along, ring.out_n[k])),
    ...wheelForces(ring).map(([x, y]) => Math.hypot(x, y)),
  ]));
  const most = Math.max(...sizes);
  return most > 0 ? { most, mm_per_n: (0.34 * outer) / most, bar_n: niceStep(0.9 * most) } : null;
}

const wheelForces = (ring) =>
  Array.from({ length: ring.wheels_n.length / 2 }, (_, k) => [ring.wheels_n[2 * k], ring.wheels_n[2 * k + 1]]);

/** Marks round the held part: one every 10°, longer at 30°, longest at 90°. */
function dial(outer) {
  const marks = [];
  for (let k = 0; k < 36; k += 1) {
    const far = outer * (k % 9 === 0 ? 1.11 : k % 3 === 0 ? 1.093 : 1.078);
    const [c, s] = [Math.cos((TURN * k) / 36), Math.sin((TURN * k) / 36)];
    marks.push([1.06 * outer * c, 1.06 * outer * s, far * c, far * s]);
  }
  return path(marks, { closed: false, line: "quiet" });
}

/** One tooth outline set on the neutral line, appended to `out`. */
function setTooth(out, outline, [x, y, normal]) {
  const [c, s] = [Math.cos(normal), Math.sin(normal)];
  for (let j = 0; j < outline.length; j += 2) {
    out.push(x - s * outline[j] + c * outline[j + 1], y + c * outline[j] + s * outline[j + 1]);
  }
  return out;
}

function flexibleItems(parts, at, rowIndex) {
  const { parameters, inner } = parts;
  const row = parts.rows[rowIndex];
  const loop = [];
  for (const spot of at.teeth[rowIndex]) setTooth(loop, row.outline, spot);
  const marked = setTooth([], row.outline, at.teeth[rowIndex][0]);
  const look = { fill: "flexible_soft", line: "flexible" };
  return [
    path([loop, inner], parameters.roles.held === "flexible" ? { ...look, hatch: "flexible" } : look),
    path([marked], { fill: "tooth_mark", line: "tooth_mark" }),
  ];
}

/** A pin under the marked tooth and a pointer to the marked lobe, both in the generator's frame. */
function markItems(parts, at, rowIndex) {
  const [x, y, normal] = at.teeth[rowIndex][0];
  const deep = parts.parameters.inner_offset_mm;
  const pin = 0.11 * parts.innerRadius;
  const [c, s] = [Math.cos(normal), Math.sin(normal)];
  const [fx, fy] = [x - (deep + pin) * c, y - (deep + pin) * s];
  const reach = along(parts.parameters.shape, 0)[0] - deep;
  return [
    arrow([0.17 * parts.innerRadius, 0], [reach - 1.35 * pin, 0], { colour: "lobe_mark", line_px: 4 }),
    path([[x, y, fx, fy]], { closed: false, line: "tooth_mark", line_px: 2.5 }),
    disc([fx, fy], 0.28 * pin, { fill: "tooth_mark", line: "paper", line_px: 1 }),
  ];
}

/** A notch in a ring's body at its space 0, in the ring's frame. */
function ringMark(ring) {
  const wide = 0.035 * ring.outer_radius_mm;
  const [far, near] = [ring.outer_radius_mm, ring.root_radius_mm];
  const tip = near + 0.15 * (far - near);
  return path([[tip, 0, far, wide, far, -wide]], { fill: "ink" });
}

/** A leaf from [x, y] along the vector [dx, dy], widest toward its far end. */
function leaf(x, y, dx, dy, half) {
  const size = Math.hypot(dx, dy);
  const wide = Math.min(half, 0.3 * size) / size;
  const [mx, my] = [x + 0.62 * dx, y + 0.62 * dy];
  return [x, y, mx - wide * dy, my + wide * dx, x + dx, y + dy, mx + wide * dy, my - wide * dx];
}

/** Share of the largest force of a case below which a push is not drawn and a tooth not counted. */
const CARRIES = 0.01;

/** Pushes of the teeth on the ring in front as leaves, of the wheels on its row as arrows, in the generator's frame. */
function forceItems(parts, at, front, load) {
  const { parameters, force } = parts;
  const scale = force.mm_per_n;
  const ring = parameters.loads.cases[load].rings[front];
  const half = 0.3 * TURN * parameters.shape.radius_mm / ring.along_n.length;
  const pushes = pushesAt(parameters, load, front, at).map((row) => [...row, Math.hypot(row[2], row[3])]);
  const least = CARRIES * Math.max(...pushes.map((row) => row[4]));
  const leaves = pushes.filter((row) => row[4] > least)
    .map(([x, y, fx, fy]) => leaf(x, y, scale * fx, scale * fy, half));
  const items = leaves.length ? [path(leaves, { line: "paper", line_px: 4 })] : [];
  for (const loop of leaves) items.push(path([loop], { fill: "ink", line: "ink", line_px: 1.2 }));
  wheelForces(ring).forEach(([fx, fy], k) => {
    const wheel = parameters.wheels[k];
    const size = Math.hypot(fx, fy);
    if (size <= CARRIES * force.most) return;
    const head = [wheel.x_mm + (wheel.radius_mm * fx) / size, wheel.y_mm + (wheel.radius_mm * fy) / size];
    const tail = [head[0] - scale * fx, head[1] - scale * fy];
    items.push(path([[...tail, ...head]], { closed: false, line: "paper", line_px: 8 }),
      arrow(tail, head, { colour: "generator", line_px: 3.5 }));
  });
  return items;
}

/** The bar in the lower left corner that tells how long a force is drawn. */
function barItems({ force }, edge) {
  const [x, y, long] = [-0.97 * edge, -0.95 * edge, force.bar_n * force.mm_per_n];
  const stop = 0.018 * edge;
  return [
    path([[x, y, x + long, y]], { closed: false, line: "ink", line_px: 3 }),
    path([[x, y - stop, x, y + stop], [x + long, y - stop, x + long, y + stop]], { closed: false, line: "ink", line_px: 1.5 }),
    text([x, y + 1.8 * stop], `${force.bar_n} N`, { size_px: 14, strong: true }),
  ];
}

/** A number with three figures and a true minus sign. */
export function three(value) {
  if (value === 0) return "0";
  const rounded = Math.abs(value) < 1000 ? Number(value.toPrecision(3)) : value;
  const places = Math.max(0, 2 - Math.floor(Math.log10(Math.abs(rounded)) + 1e-9));
  return rounded.toFixed(Math.min(places, 9)).replace("-", "−");
}

/** The cases that a torque is chosen from: those of the loads, else those of the stress. */
const casesOf = ({ loads, stress }) => (loads ?? stress)?.cases ?? [];

/** Whether there is any stress to draw. */
const isStressed = ({ stress }) => Boolean(stress?.cases.length);

/** A load case in words, as the control says it. */
export function torqueWords(parameters, load) {
  const torque = load === null ? 0 : casesOf(parameters)[load].torque_nm;
  return torque === 0 ? "no torque" : `${three(torque)} N·m`;
}

/** What the forces on the ring in front are where they are known, in words. */
export function forceWords(parameters, front, load) {
  const { loads, rings } = parameters;
  if (load === null || loads.cases[load].torque_nm === 0) return "No torque: no forces are drawn.";
  const ring = loads.cases[load].rings[front];
  const sizes = ring.along_n.map((along, k) => Math.hypot(along, ring.out_n[k]));
  const most = Math.max(...sizes);
  const count = sizes.filter((size) => size > CARRIES * most).length;
  const torque = loads.cases[load].torque_nm;
  const wheels = wheelForces(ring).map(([x, y]) => `${three(Math.hypot(x, y))} N`);
  return `At ${torqueWords(parameters, load)} on ${memberName(parameters, loads.member)} `
    + `(${torque < 0 ? "clockwise" : "anticlockwise"}) ${count} teeth push on ${rings[front].name}, the hardest with ${three(most)} N`
    + `${wheels.length ? `; the generator pushes on the flexible ring there with ${wheels.join(", ")}` : ""}.`;
}

// Stress along the flexible ring, where the parameters give it: { what, unit, cases: [{ torque_nm, values }] }, one value a
// sample of the neutral line, standing in the generator's frame.

/** The stress of a load case: its values, the largest and where it is; null where none is known at that torque. */
export function stressAt(parameters, load) {
  const torque = load === null ? 0 : casesOf(parameters)[load].torque_nm;
  const found = parameters.stress?.cases.find((one) => Math.abs(one.torque_nm - torque) <= 1e-6 * Math.max(1, Math.abs(torque)));
  if (!found) return null;
  const sizes = found.values.map(Math.abs);
  const at = sizes.indexOf(Math.max(...sizes));
  return { values: found.values, at, most: found.values[at], turn_rad: unwrap((TURN * at) / sizes.length, 0) };
}

/** The step between levels of stress, one for all cases: four steps hold the largest of any. */
export function stressStep({ stress }) {
  const most = Math.max(...stress.cases.flatMap((one) => one.values.map(Math.abs)));
  if (!(most > 0)) return 1;
  const power = 10 ** Math.floor(Math.log10(most / 4));
  return [1, 1.5, 2, 2.5, 3, 4, 5, 7.5, 10].map((size) => size * power).find((size) => 4 * size >= most * (1 - 1e-9));
}

const LEVELS = ["level_1", "level_2", "level_3", "level_4"];
const levelOf = (value, step) => Math.min(3, Math.floor(Math.abs(value) / step));

/** A band inside the flexible ring, wide and dark where the stress is large; hatched where it is below zero. Kept. */
function stressItems(parts, load) {
  if (parts.bands.has(load)) return parts.bands.get(load);
  const { parameters, inner, innerRadius } = parts;
  const found = stressAt(parameters, load);
  const items = [];
  if (found) {
    const step = stressStep(parameters);
    const size = found.values.length;
    const deep = (0.11 * innerRadius) / (4 * step);
    const outward = (k) => [Math.cos(parameters.shape.normal_angle_rad[k]), Math.sin(parameters.shape.normal_angle_rad[k])];
    const foot = (k, by) => {
      const j = Math.round((k * inner.length) / 2 / size) % (inner.length / 2); // samples may be fewer than the line has
      return [inner[2 * j] - by * outward(j)[0], inner[2 * j + 1] - by * outward(j)[1]];
    };
    const quads = LEVELS.map(() => []);
    const ticks = [];
    found.values.forEach((value, k) => {
      const next = (k + 1) % size;
      const loop = [...foot(k, 0), ...foot(next, 0), ...foot(next, deep * Math.abs(found.values[next])), ...foot(k, deep * Math.abs(value))];
      quads[levelOf(value, step)].push(loop);
      if (value < 0 && k % 3 === 0) ticks.push([...foot(k, 0), ...foot(k, deep * Math.abs(value))]);
    });
    quads.forEach((loops, level) => loops.length && items.push(path(loops, { fill: LEVELS[level], line: LEVELS[level], line_px: 0.5 })));
    if (ticks.length) items.push(path(ticks, { closed: false, line: "ink" }));
    const most = foot(found.at, deep * Math.abs(found.most));
    items.push(arrow(foot(found.at, deep * Math.abs(found.most) + 0.14 * innerRadius), most, { colour: "ink", line_px: 2 }));
  }
  parts.bands.set(load, items);
  return items;
}

/** The largest stress in words. */
export function stressWords(parameters, load) {
  const { stress } = parameters;
  if (!stress.cases.length) return `Stress along the flexible ring not made: ${stress.not_made ?? "none was given"}.`;
  const found = stressAt(parameters, load);
  const what = stress.what.charAt(0).toUpperCase() + stress.what.slice(1);
  if (!found) return `${what}: not known at ${torqueWords(parameters, load)}.`;
  return `${what} at ${torqueWords(parameters, load)}: largest ${three(found.most)} ${stress.unit}, `
    + `${degrees(found.turn_rad)} from the marked lobe (arrow). It stands still with the generator while the material runs through it.`;
}

/**
 * The drive seen from the output side. `seen`: "held" or "generator"; `front`: index of the ring in front; `load`: a load
 * case or null; `frame`: flat corners of what the close picture shows, or null.
 */
export function driveScene(parts, angle, { seen = "held", front = 0, load = null, frame = null } = {}) {
  const { parameters, rings, outer } = parts;
  const at = pose(parameters, angle);
  const back = seen === "generator" ? -at.generator_rad : 0;
  const turned = (items, by, look = {}) => group(items, [[0, 0, by + back]], look);
  const rowIndex = rings[front].row;
  const output = turnsOf(parameters, parameters.roles.read) * angle;
  const loaded = load !== null && parts.force !== null && Boolean(parameters.loads);
  const forces = loaded ? forceItems(parts, at, front, load) : [];
  const [lobe, ...pin] = markItems(parts, at, rowIndex);
  const items = [turned([parts.scale], turnsOf(parameters, parameters.roles.held) * angle)];
  const role = { generator: "generator", flexible: "flexible" }[parameters.roles.read]
    ?? ringRole(rings.findIndex((ring) => ring.name === parameters.roles.read));
  const trail = output % TURN;
  if (Math.abs(trail) > 1e-4) {
    items.push(turned([ringArc(1.02 * outer, 1.045 * outer, 0, trail, { fill: role })], 0));
  }
  rings.forEach((ring, index) => {
    if (index !== front) items.push(turned([parts.bodies[index]], at.rings_rad[index], { fade: 0.5 }));
  });
  const { edge } = parts;
  const untrue = timesWords(parameters);
  const bands = isStressed(parameters) ? stressItems(parts, load) : [];
  items.push(
    turned([parts.bodies[front], ringMark(rings[front])], at.rings_rad[front], untrue ? { fade: 0.6 } : {}),
    turned([...flexibleItems(parts, at, rowIndex), ...parts.generator, ...bands, lobe, ...forces, ...pin], at.generator_rad),
  );
  if (frame) items.push(path([frame], { line: "paper", line_px: 4 }), path([frame], { line: "ink", line_px: 1.5 }));
  if (loaded) items.push(...barItems(parts, edge));
  untrue.split(": ").forEach((words, k) => words
    && items.push(text([-0.98 * edge, (0.93 - 0.07 * k) * edge], words, { size_px: 14, strong: true, colour: "warn" })));
  return { view: [-edge, -edge, edge, edge], items, title: "The drive along its axis", description: spoken(parts, angle) };
}

/** Angles in words, for people who hear the picture. */
export function spoken(parts, angle) {
  const { roles, turns, ratio_text: ratio } = parts.parameters;
  const [lead, led] = [leading(parts.parameters), roles.read];
  const of = (member) => `${memberName(parts.parameters, member)} at ${degrees(turnsOf(parts.parameters, member) * angle)}`;
  const untrue = timesWords(parts.parameters);
  return `${of(lead)}, ${of(led)}, ratio ${ratio}${turns.generator === 0 ? ", generator held" : ""}${untrue && `. ${untrue}`}`;
}

/** The member that a hand turns: the generator, or the driven member when the generator is held. */
export function leading(parameters) {
  return parameters.turns.generator === 0 ? parameters.roles.driven : "generator";
}

export function memberName(parameters, member) {
  return parameters.names[member] ?? member;
}

/** Degrees with one place and a true minus sign. */
export function degrees(angle) {
  const shown = ((angle * 360) / TURN).toFixed(1);
  return `${(shown === "-0.0" ? "0.0" : shown).replace("-", "−")}°`;
}

// ---- 4 unrolled -----------------------------------------------------------------------------------------------

const toPolar = (x, y, near) => [unwrap(Math.atan2(y, x), near), Math.hypot(x, y)];

/** Heights are stretched by a whole number so that a tooth stands about one and a half pitches tall. */
export function stretch(parts) {
  const row = parts.rows[0];
  const pitch = (TURN * parts.parameters.shape.radius_mm) / row.teeth;
  return Math.max(1, Math.round((1.4 * pitch) / (row.tip - row.outline[1])));
}

/** Static runs of the unrolled picture (angle, radius → x, y), made once. */
function unrolledParts(parts) {
  const { shape } = parts.parameters;
  const tall = stretch(parts);
  const middle = shape.radius_mm;
  const place = ([angle, radius]) => [middle * angle, tall * radius];
  const low = tall * (parts.innerRadius - 0.05 * middle);
  const edges = [];
  const bodies = parts.parameters.wheels.map((wheel) => {
    const loop = wheelLoop(wheel);
    const run = [];
    let near = Math.atan2(loop[1], loop[0]);
    // One point more than the loop closes it; a second time round a body about the centre hides its seam.
    const count = loop.length * (holdsCentre(wheel) ? 1.25 : 1) + 2;
    for (let j = 0; j < count; j += 2) {
      const spot = toPolar(loop[j % loop.length], loop[(j + 1) % loop.length], near);
      near = spot[0];
      run.push(...place(spot));
    }
    const body = holdsCentre(wheel) ? [...run, run[run.length - 2], low, run[0], low] : run;
    edges.push(path([run], { closed: false, line: "generator", line_px: 1.5 }));
    return path([body], generatorFill(parts.parameters));
  });
  const wheels = [...bodies, ...edges];
  const angles = wheels.flatMap((item) => item.loops[0].filter((_, k) => k % 2 === 0)).map((x) => x / middle);
  return { tall, middle, place, wheels, reach: [Math.min(...angles), Math.max(...angles)], low, racks: new Map() };
}

/** Flexible ring between two fixed-frame angles: the body's loop, and the marked tooth when it is there. */
function unrolledFlexible(parts, flat, at, rowIndex, from, to) {
  const { parameters } = parts;
  const { shape } = parameters;
  const row = parts.rows[rowIndex];
  const place = (x, y, near, out) => {
    out.push(flat.middle * unwrap(Math.atan2(y, x), near), flat.tall * Math.sqrt(x * x + y * y));
  };
  const slack = 0.1 + TURN / row.teeth;
  const loop = [];
  const marked = [];
  const first = Math.floor(((from - slack - at.shift_rad) * row.teeth) / TURN);
  const last = Math.ceil(((to + slack - at.shift_rad) * row.teeth) / TURN);
  for (let k = first; k <= last; k += 1) {
    const label = (TURN * k) / row.teeth + at.shift_rad;
    const spot = setTooth([], row.outline, at.teeth[rowIndex][wrap(k, row.teeth)]);
    const own = [];
    for (let j = 0; j < spot.length; j += 2) place(spot[j], spot[j + 1], label, own);
    loop.push(...own);
    if (wrap(k, row.teeth) === 0) marked.push(own);
  }
  const size = shape.x_mm.length;
  const [start, end] = [Math.floor(((from - slack) * size) / TURN), Math.ceil(((to + slack) * size) / TURN)];
  for (let k = end; k >= start; k -= 1) {
    const j = 2 * wrap(k, size);
    place(parts.inner[j], parts.inner[j + 1], (TURN * k) / size, loop);
  }
  return { loop, marked };
}

/** Shifts by whole turns that bring what reaches over the angles `reach` into view between two angles. */
function copies(flat, by, from, to, reach = [-0.3, TURN + 0.3]) {
  const out = [];
  for (let k = Math.ceil((from - by - reach[1]) / TURN); by + TURN * k + reach[0] < to; k += 1) {
    out.push([flat.middle * (by + TURN * k), 0, 0]);
  }
  return out;
}

/** A ring's rack of `count` spaces from space 0 on, up to height `top`; kept, because it only slides. */
function rackItems(parts, flat, index, count, top) {
  const key = `${index} ${count} ${top}`;
  if (!flat.racks.has(key)) {
    const ring = parts.rings[index];
    const role = ringRole(index);
    const run = [];
    for (let k = 0; k < count; k += 1) {
      for (let j = 0; j < ring.outline.length; j += 2) {
        const [angle, radius] = toPolar(ring.outline[j], ring.outline[j + 1], 0);
        run.push(...flat.place([angle + (TURN * k) / ring.teeth, radius]));
      }
    }
    if (flat.racks.size > 8) flat.racks.clear();
    flat.racks.set(key, [
      path([[...run, run[run.length - 2], top, run[0], top]],
        { fill: `${role}_soft`, ...(parts.parameters.roles.held === ring.name ? { hatch: role } : {}) }),
      path([run], { closed: false, line: role }),
    ]);
  }
  return flat.racks.get(key);
}

/** Bars where the racks line up, solid where the teeth are in mesh there, with a dashed line through their middle. */
function lineUpItems(runs, flat, rackTop, unit) {
  return runs.flatMap(({ state, from, to }) => {
    const [left, right, middle] = [from, to, (from + to) / 2].map((label) => flat.middle * label);
    const [low, high] = [rackTop + 3 * unit, rackTop + 7 * unit];
    const bar = path([[left, low, right, low, right, high, left, high]], { line: "ink", ...(state === 2 ? { fill: "ink" } : {}) });
    const line = path([[middle, flat.low, middle, low]], { closed: false, line: "ink", dash_px: 3 });
    return state === 2 ? [bar, line] : [bar];
  });
}

/** One strip: a ring's rack above, the flexible ring's under it, the generator's wedge below. */
function band(parts, flat, at, index, { from, to, back, top, unit }) {
  const ring = parts.rings[index];
  // Everything in the strip is drawn at its angle in the fixed frame plus `back`.
  const generatorBy = at.generator_rad + back;
  const ringBy = at.rings_rad[index] + back;
  const flexible = unrolledFlexible(parts, flat, at, ring.row, from - generatorBy, to - generatorBy);
  const rackTop = flat.tall * ring.root_radius_mm + 12 * unit;
  const pitch = TURN / ring.teeth;
  const first = Math.floor((from - ringBy) / pitch);
  const rack = rackItems(parts, flat, index, Math.ceil((to - from) / pitch) + 2, rackTop);
  const look = { fill: "flexible_soft", line: "flexible" };
  const notch = [0, rackTop - 10 * unit, -5 * unit, rackTop, 5 * unit, rackTop];
  const wedge = [0, flat.low + 12 * unit, -6 * unit, flat.low, 6 * unit, flat.low];
  const inside = [
    group(flat.wheels, copies(flat, generatorBy, from, to, flat.reach)),
    group([
      path([flexible.loop], parts.parameters.roles.held === "flexible" ? { ...look, hatch: "flexible" } : look),
      ...flexible.marked.map((own) => path([own], { fill: "tooth_mark", line: "tooth_mark" })),
    ], [[flat.middle * generatorBy, 0, 0]]),
    group(rack, [[flat.middle * (ringBy + first * pitch), 0, 0]]),
    group([path([notch], { fill: "ink" })], copies(flat, ringBy, from, to)),
    group([...lineUpItems(parts.lines[index], flat, rackTop, unit), path([wedge], { fill: "lobe_mark" })],
      copies(flat, generatorBy, from, to)),
  ];
  const lane = rackTop + 8 * unit;
  const down = top - lane;
  const [left, right] = [flat.middle * from, flat.middle * to];
  return {
    item: group(inside, [[-left, down, 0]], { clip: [0, flat.low + down, right - left, lane + down] }),
    top: flat.low + down,
  };
}

/** The drive unrolled over one turn, in `pieces` strips a ring, drawn `widthPx` wide; marks where racks line up. */
export function unrolledScene(parts, angle, { seen = "held", widthPx = 900, pieces = 1 } = {}) {
  const { parameters, rings } = parts;
  const flat = (parts.flat ??= unrolledParts(parts));
  const at = pose(parameters, angle);
  const back = seen === "generator" ? -at.generator_rad : 0;
  const begin = -Math.PI / parameters.shape.lobes;
  const span = TURN / pieces;
  const width = flat.middle * span;
  const unit = width / widthPx;
  const items = [];
  let top = 0;
  rings.forEach((ring, index) => {
    const line = `${ring.name}: ${ring.teeth} spaces over ${parts.rows[ring.row].teeth} teeth`;
    items.push(text([0, top - 15 * unit], line, { size_px: 13, strong: true, colour: "ink" }));
    top -= 22 * unit;
    for (let piece = 0; piece < pieces; piece += 1) {
      const from = begin + piece * span;
      const drawn = band(parts, flat, at, index, { from, to: from + span, back, top, unit });
      items.push(drawn.item);
      top = drawn.top;
      items.push(...scaleItems(flat, [from, from + span], top, unit, parameters.shape.lobes));
      top -= 24 * unit;
    }
    top -= 4 * unit;
  });
  return {
    view: [0, top, width, 0], items, title: "The drive unrolled",
    description: `Racks of ${rings.map((ring) => ring.name).join(" and ")} over the flexible ring, heights ${flat.tall} times`,
  };
}

/** Angles under a strip: named at and halfway between the lobes' first places, two marks in between. */
function scaleItems(flat, [from, to], top, unit, lobes) {
  const items = [];
  const step = TURN / (6 * lobes);
  for (let k = Math.ceil(from / step - 1e-9); k * step <= to + 1e-9; k += 1) {
    const x = flat.middle * (k * step - from);
    items.push(path([[x, top, x, top - (k % 3 ? 3 : 6) * unit]], { closed: false, line: "quiet" }));
    if (k % 3) continue;
    const anchor = k * step - from < 0.05 ? "start" : to - k * step < 0.05 ? "end" : "middle";
    const words = `${Math.round((360 * k) / (6 * lobes))}°`.replace("-", "−");
    items.push(text([x, top - 17 * unit], words, { size_px: 11.5, colour: "quiet", anchor }));
  }
  return items;
}

// ---- 5 mesh ---------------------------------------------------------------------------------------------------

/** Outlines are told gaps within this of those given: points nearer to a straight run are left out. */
const FINE_MM = 0.0002;
const CHUNK = 8; // pieces of a line that share a box, so that far ones are passed over at once

/** An open line of flat points with a box for every few of its pieces. */
function boxed(points) {
  const pieces = points.length / 2 - 1;
  const boxes = new Float64Array(4 * Math.ceil(pieces / CHUNK));
  for (let k = 0; k < boxes.length / 4; k += 1) {
    let [left, low, right, high] = [Infinity, Infinity, -Infinity, -Infinity];
    for (let j = k * CHUNK; j <= Math.min((k + 1) * CHUNK, pieces); j += 1) {
      const [x, y] = [points[2 * j], points[2 * j + 1]];
      if (x < left) left = x;
      if (x > right) right = x;
      if (y < low) low = y;
      if (y > high) high = y;
    }
    boxes.set([left, low, right, high], 4 * k);
  }
  let inner = Infinity; // nothing of the line is nearer to the origin; a chord may cut in by far less than a hundredth
  for (let k = 0; k < points.length; k += 2) inner = Math.min(inner, 0.99 * Math.hypot(points[k], points[k + 1]));
  return { points, boxes, inner };
}

// The next two run thousands of times a frame: plain numbers, no arrays made on the way.

/** The point of a line nearest to [x, y] and within `reach`: [square of the distance, x, y]; the square of `reach` where none is. */
function nearest({ points, boxes }, x, y, reach = Infinity) {
  let best = reach * reach;
  let fx = 0;
  let fy = 0;
  const pieces = points.length / 2 - 1;
  for (let k = 0, b = 0; b < boxes.length; k += CHUNK, b += 4) {
    const ox = x < boxes[b] ? boxes[b] - x : x > boxes[b + 2] ? x - boxes[b + 2] : 0;
    const oy = y < boxes[b + 1] ? boxes[b + 1] - y : y > boxes[b + 3] ? y - boxes[b + 3] : 0;
    if (ox * ox + oy * oy >= best) continue;
    const end = 2 * Math.min(k + CHUNK, pieces);
    for (let j = 2 * k; j < end; j += 2) {
      const ax = points[j];
      const ay = points[j + 1];
      const dx = points[j + 2] - ax;
      const dy = points[j + 3] - ay;
      const long = dx * dx + dy * dy;
      const part = long > 0 ? Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / long)) : 0;
      const px = ax + part * dx;
      const py = ay + part * dy;
      const away = (px - x) * (px - x) + (py - y) * (py - y);
      if (away < best) {
        best = away;
        fx = px;
        fy = py;
      }
    }
  }
  return [best, fx, fy];
}

/** Whether the way from [x, y] to the origin crosses a line an even number of times: then it is on the origin's side. */
function clearOf({ points, boxes, inner }, x, y) {
  const square = x * x + y * y;
  if (square < inner * inner) return true;
  let even = true;
  const pieces = points.length / 2 - 1;
  for (let k = 0, b = 0; b < boxes.length; k += CHUNK, b += 4) {
    if (boxes[b] > Math.max(x, 0) || boxes[b + 2] < Math.min(x, 0)) continue;
    if (boxes[b + 1] > Math.max(y, 0) || boxes[b + 3] < Math.min(y, 0)) continue;
    const end = 2 * Math.min(k + CHUNK, pieces);
    for (let j = 2 * k; j < end; j += 2) {
      const one = points[j] * y - points[j + 1] * x;
      const other = points[j + 2] * y - points[j + 3] * x;
      if (one > 0 === other > 0) continue;
      const part = one / (one - other);
      const reach = (points[j] + part * (points[j + 2] - points[j])) * x + (points[j + 1] + part * (points[j + 3] - points[j + 1])) * y;
      if (reach > 0 && reach < square) even = !even;
    }
  }
  return even;
}

/** Whether [x, y] lies in a closed loop of flat points. */
function inLoop(loop, x, y) {
  let inside = false;
  for (let k = 0, j = loop.length - 2; k < loop.length; j = k, k += 2) {
    if (loop[k + 1] > y === loop[j + 1] > y) continue;
    if (x < loop[k] + ((y - loop[k + 1]) / (loop[j + 1] - loop[k + 1])) * (loop[j] - loop[k])) inside = !inside;
  }
  return inside;
}

/** Flat points turned about the origin. */
function spun(points, angle) {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const out = new Array(points.length);
  for (let k = 0; k < points.length; k += 2) {
    out[k] = c * points[k] - s * points[k + 1];
    out[k + 1] = s * points[k] + c * points[k + 1];
  }
  return out;
}

/** Outlines as gaps are told from: one pitch of each row, one space of each ring, and its edge over three spaces. */
export function meshOf(parameters, slack = FINE_MM) {
  const spaces = parameters.rings.map((ring) => thin(ascending(ring.outline_mm, (x, y) => Math.atan2(y, x)), slack));
  return {
    parameters, spaces,
    teeth: parameters.rows.map((row) => thin(ascending(row.outline_mm, (x) => x), slack)),
    edges: spaces.map((space, index) => {
      const pitch = TURN / parameters.rings[index].teeth;
      return boxed([-1, 0, 1].flatMap((k) => spun(space, k * pitch)));
    }),
  };
}

/** Flat points with more of them between, so that none is farther from the next than `step`. */
function refined(points, step) {
  if (!Number.isFinite(step)) return points;
  const out = [points[0], points[1]];
  for (let k = 2; k < points.length; k += 2) {
    const [x, y] = [points[k - 2], points[k - 1]];
    const [dx, dy] = [points[k] - x, points[k + 1] - y];
    const count = Math.ceil(Math.hypot(dx, dy) / step);
    for (let j = 1; j < count; j += 1) out.push(x + (j / count) * dx, y + (j / count) * dy);
    out.push(points[k], points[k + 1]);
  }
  return out;
}

/** The gap of a point of a tooth to a ring's edge: [gap, x, y of the edge's nearest point]; below 0 a depth, beyond `reach` Infinity. */
function gapTo(edge, x, y, reach = Infinity) {
  const clear = clearOf(edge, x, y);
  const found = nearest(edge, x, y, clear ? reach : Infinity);
  const away = Math.sqrt(found[0]);
  found[0] = clear ? (away < reach ? away : Infinity) : -away;
  return found;
}

/**
 * Gaps in mm of flexible tooth `tooth` to ring `index` in a pose: at the points of its outline, no farther apart than
 * `step`, and the smallest of these and of the ring's own points. Everything is in the frame of the space that the tooth
 * faces; `turn` brings it into the generator's. Points that `sees(turn)(x, y)` refuses are not computed (gap NaN). Gaps
 * beyond `reach` and beyond the smallest are told as Infinity.
 */
export function toothGaps(mesh, at, index, tooth, { step = Infinity, reach = Infinity, sees = () => () => true } = {}) {
  const { parameters } = mesh;
  const ring = parameters.rings[index];
  const [x, y, normal] = at.teeth[ring.row][tooth];
  const pitch = TURN / ring.teeth;
  const stands = at.rings_rad[index] - at.generator_rad;
  const turn = stands + pitch * Math.floor((Math.atan2(y, x) - stands) / pitch + 0.5);
  const outline = mesh.teeth[ring.row];
  const deep = -parameters.inner_offset_mm;
  const placed = (points) => spun(setTooth([], points, [x, y, normal]), -turn);
  const edge = mesh.edges[index];
  const points = placed(refined(outline, step));
  const seen = sees(turn);
  const [gaps, feet] = [new Float64Array(points.length / 2), new Float64Array(points.length)];
  const least = { gap: Infinity, turn, at: null, foot: null };
  for (let k = 0; k < gaps.length; k += 1) {
    const [px, py] = [points[2 * k], points[2 * k + 1]];
    gaps[k] = NaN;
    if (!seen(px, py)) continue;
    const [gap, fx, fy] = gapTo(edge, px, py, Math.max(reach, least.gap));
    gaps[k] = gap;
    feet[2 * k] = fx;
    feet[2 * k + 1] = fy;
    if (gap < least.gap) Object.assign(least, { gap, at: [px, py], foot: [fx, fy] });
  }
  const own = boxed(placed(outline));
  const body = placed([...outline, outline[outline.length - 2], deep, outline[0], deep]);
  let [left, low, right, high] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let k = 0; k < body.length; k += 2) {
    left = Math.min(left, body[k]);
    right = Math.max(right, body[k]);
    low = Math.min(low, body[k + 1]);
    high = Math.max(high, body[k + 1]);
  }
  for (let k = 0; k < edge.points.length; k += 2) {
    const px = edge.points[k];
    const py = edge.points[k + 1];
    // Farther from the tooth's box than the smallest gap: it cannot be nearer, and it is not inside.
    const off = Math.max(left - px, px - right, low - py, py - high, 0);
    if (off > 0 && off >= least.gap) continue;
    if (!seen(px, py)) continue;
    const inside = inLoop(body, px, py);
    const [square, fx, fy] = nearest(own, px, py, inside ? Infinity : Math.max(0, least.gap));
    const gap = inside ? -Math.sqrt(square) : Math.sqrt(square);
    if (gap < least.gap) Object.assign(least, { gap, at: [fx, fy], foot: [px, py] });
  }
  return { tooth, turn, points, gaps, feet, least, own };
}

/** The gap at the place of a tooth's outline that is nearest to a point (generator's frame), over the teeth given. */
export function gapNear(mesh, index, teeth, x, y) {
  let best = null;
  for (const { turn, own } of teeth) {
    const [px, py] = spun([x, y], -turn);
    const [square, qx, qy] = nearest(own, px, py);
    if (best && best.square <= square) continue;
    best = { square, turn, at: [qx, qy] };
  }
  if (!best) return null;
  const [gap, fx, fy] = gapTo(mesh.edges[index], ...best.at);
  return { gap, turn: best.turn, at: best.at, foot: [fx, fy] };
}

// ---- 6 close --------------------------------------------------------------------------------------------------

/**
 * Classes of gaps, tightest first: { below, words, role, tick, every, crossed }; `below` in mm. The widest is a round number
 * below a fifth of the tooth pitch. Hatch lines stand `every` so many pixels, crossed in overlaps.
 */
export function gapClasses(parameters) {
  const pitch = (TURN * parameters.shape.radius_mm) / parameters.rows[0].teeth;
  const top = niceStep(200 * pitch);
  const steps = [0.1, 0.2, 0.5, 1].map((share) => Number((share * top).toPrecision(3)));
  const ways = [["level_4", "paper", 5], ["level_3", "paper", 9], ["level_2", "ink", 15], ["level_1", "ink", 26]];
  return [
    { below: -steps[0] / 1000, words: `overlap, deeper than ${steps[0]} µm`, role: "overlap", tick: "paper", every: 6, crossed: true },
    { below: 0, words: `overlap, up to ${steps[0]} µm`, role: "overlap", tick: "paper", every: 12, crossed: true },
    ...steps.map((step, k) => ({
      below: step / 1000, words: `gap ${k ? steps[k - 1] : 0} to ${step} µm`, role: ways[k][0], tick: ways[k][1], every: ways[k][2], crossed: false,
    })),
  ];
}

/** Micrometres in words: whole ones, tenths below ten. */
export function microns(gap) {
  const value = Math.abs(gap * 1000);
  const shown = value < 9.95 ? value.toFixed(1) : value.toFixed(0);
  return gap < 0 && Number(shown) > 0 ? `overlap ${shown} µm` : `${shown} µm`;
}

/** Where the close picture looks: centre [x, y] and the angle that is up in it, in the frame that is seen. */
export function lookPlace(parts, at, index, back, { spot, place_rad: place = 0, out_mm: out = 0 }) {
  const { parameters, rings, rows } = parts;
  const ring = rings[index];
  const row = rows[ring.row];
  const half = (row.outline[1] + row.tip) / 2;
  const turn = at.generator_rad + back;
  if (spot === "tooth") {
    const [x, y, normal] = at.teeth[ring.row][0];
    return { centre: spun([x + half * Math.cos(normal), y + half * Math.sin(normal)], turn), up: normal + turn };
  }
  if (spot === "place") {
    const far = (ring.tip_radius_mm + ring.root_radius_mm) / 2 + out;
    return { centre: [far * Math.cos(place), far * Math.sin(place)], up: place };
  }
  const label = (TURN * spot) / parameters.shape.lobes;
  const [x, y, normal] = along(parameters.shape, parameters.shape.radius_mm * label);
  return { centre: spun([x + half * Math.cos(normal), y + half * Math.sin(normal)], turn), up: normal + turn };
}

/** Maker of flat points in the close picture from flat points that `turn` brings into the frame that is seen. */
function into({ centre: [cx, cy], up }) {
  const tilt = TURN / 4 - up;
  const [c, s] = [Math.cos(tilt), Math.sin(tilt)];
  const [ox, oy] = [c * cx - s * cy, s * cx + c * cy];
  return (points, turn) => {
    const [a, b] = [Math.cos(turn + tilt), Math.sin(turn + tilt)];
    const out = new Array(points.length);
    for (let k = 0; k < points.length; k += 2) {
      out[k] = a * points[k] - b * points[k + 1] - ox;
      out[k + 1] = b * points[k] + a * points[k + 1] - oy;
    }
    return out;
  };
}

/** Body of a ring over the spaces within `reach` rad of the angle `middle`, in its own frame. */
function ringPiece(ring, space, middle, reach) {
  const pitch = TURN / ring.teeth;
  const [first, last] = [Math.floor((middle - reach) / pitch), Math.ceil((middle + reach) / pitch)];
  const loop = [];
  for (let k = first; k <= last; k += 1) loop.push(...spun(space, k * pitch));
  for (let k = last + 0.5; k >= first - 0.5; k -= 0.5) {
    loop.push(ring.outer_radius_mm * Math.cos(k * pitch), ring.outer_radius_mm * Math.sin(k * pitch));
  }
  return loop;
}

/** Flexible ring over the teeth within `reach` rad of the label `middle`, and its marked tooth, in the generator's frame. */
function flexiblePiece(parts, mesh, at, rowIndex, middle, reach) {
  const { shape } = parts.parameters;
  const count = parts.rows[rowIndex].teeth;
  const outline = mesh.teeth[rowIndex];
  const first = Math.floor(((middle - reach - at.shift_rad) * count) / TURN);
  const last = Math.ceil(((middle + reach - at.shift_rad) * count) / TURN);
  const [loop, marked, shown] = [[], [], []];
  for (let k = first; k <= last && k < first + count; k += 1) {
    const tooth = wrap(k, count);
    setTooth(loop, outline, at.teeth[rowIndex][tooth]);
    if (tooth === 0) marked.push(setTooth([], outline, at.teeth[rowIndex][0]));
    shown.push(tooth);
  }
  const size = shape.x_mm.length;
  const label = (k) => ((TURN * k) / count + at.shift_rad) * (size / TURN);
  for (let k = Math.ceil(label(last + 0.5)); k >= Math.floor(label(first - 0.5)); k -= 1) {
    const j = 2 * wrap(k, size);
    loop.push(parts.inner[j], parts.inner[j + 1]);
  }
  return { loop, marked, shown };
}

/** Runs of neighbouring points of one class along a tooth: [{ kind, from, to }]. */
function classRuns(gaps, classes) {
  const runs = [];
  for (let k = 1; k < gaps.length; k += 1) {
    const mean = (gaps[k - 1] + gaps[k]) / 2;
    const kind = Number.isNaN(mean) ? -1 : classes.findIndex((one) => mean < one.below);
    const open = runs[runs.length - 1];
    if (kind < 0) continue;
    if (open && open.kind === kind && open.to === k - 1) open.to = k;
    else runs.push({ kind, from: k - 1, to: k });
  }
  return runs;
}

/** Hatch lines across the gap along one run, every so many pixels, none shorter than 8 pixels (crossed: 11). */
function hatchLines(points, feet, { from, to }, { every, crossed }, unit, out) {
  let walked = (every * unit) / 2;
  for (let k = from + 1; k <= to; k += 1) {
    const [x, y] = [points[2 * k - 2], points[2 * k - 1]];
    const [dx, dy] = [points[2 * k] - x, points[2 * k + 1] - y];
    const long = Math.hypot(dx, dy);
    for (walked += long; walked >= every * unit && long > 0; walked -= every * unit) {
      const part = 1 - (walked - every * unit) / long;
      const [px, py] = [x + part * dx, y + part * dy];
      const [fx, fy] = [feet[2 * k - 2] + part * (feet[2 * k] - feet[2 * k - 2]), feet[2 * k - 1] + part * (feet[2 * k + 1] - feet[2 * k - 1])];
      const half = Math.max(Math.hypot(fx - px, fy - py), (crossed ? 11 : 8) * unit) / 2;
      const way = Math.atan2(dx, -dy);
      const [mx, my] = [(px + fx) / 2, (py + fy) / 2];
      for (const lean of crossed ? [-0.7, 0.7] : [0]) {
        const [u, v] = [half * Math.cos(way + lean), half * Math.sin(way + lean)];
        out.push([mx - u, my - v, mx + u, my + v]);
      }
    }
  }
}

/** Gaps of the teeth in view, filled and hatched by class, points in the close picture. */
function gapItems(teeth, classes, place, unit) {
  const drawn = classes.map(() => ({ areas: [], flanks: [], hatch: [] }));
  for (const { points, feet, gaps, turn } of teeth) {
    const [own, far] = [place(points, turn), place(feet, turn)];
    for (const run of classRuns(gaps, classes)) {
      const [from, to] = [2 * run.from, 2 * run.to + 2];
      const loop = own.slice(from, to);
      drawn[run.kind].flanks.push(own.slice(from, to));
      for (let k = to - 2; k >= from; k -= 2) loop.push(far[k], far[k + 1]);
      drawn[run.kind].areas.push(loop);
      hatchLines(own, far, run, classes[run.kind], unit, drawn[run.kind].hatch);
    }
  }
  const items = [];
  // Widest gaps first, so that the tight ones lie on top.
  for (let k = classes.length - 1; k >= 0; k -= 1) {
    const { areas, flanks, hatch } = drawn[k];
    if (!areas.length) continue;
    for (const loop of areas) items.push(path([loop], { fill: classes[k].role }));
    items.push(path(flanks, { closed: false, line: classes[k].role, line_px: classes[k].crossed ? 8 : 5 }));
    if (hatch.length) items.push(path(hatch, { closed: false, line: classes[k].tick, line_px: 1.2 }));
  }
  return items;
}

/** The bar that tells how large a millimetre is in the close picture. */
function closeBar(wide, high, unit) {
  const long = niceStep(wide / 4);
  const [x, y, stop] = [-wide / 2 + 12 * unit, -high / 2 + 12 * unit, 4 * unit];
  const words = long < 0.1 ? `${Number((1000 * long).toPrecision(2))} µm` : `${Number(long.toPrecision(2))} mm`;
  return [
    ...label([x, y + 8 * unit], words, unit),
    path([[x, y, x + long, y]], { closed: false, line: "ink", line_px: 3 }),
    path([[x, y - stop, x, y + stop], [x + long, y - stop, x + long, y + stop]], { closed: false, line: "ink", line_px: 1.5 }),
  ];
}

/** Marks of the smallest gap and of the cross. */
function toldItems({ least, cross, at: [crossX, crossY] }, place, wide, high, unit) {
  const items = [];
  if (cross) {
    const [qx, qy, fx, fy] = place([...cross.at, ...cross.foot], cross.turn);
    const arm = 9 * unit;
    const lines = [[crossX - arm, crossY, crossX + arm, crossY], [crossX, crossY - arm, crossX, crossY + arm]];
    items.push(path([...lines, [crossX, crossY, qx, qy]], { closed: false, line: "ink", line_px: 1, dash_px: 3 }),
      path([[qx, qy, fx, fy]], { closed: false, line: "paper", line_px: 5 }),
      path([[qx, qy, fx, fy]], { closed: false, line: "ink", line_px: 2.5 }));
  }
  if (least) {
    const [x, y] = place(least.at, least.turn);
    const words = microns(least.gap);
    const side = x > 0 ? -1 : 1;
    const tail = [Math.max(-0.42 * wide, Math.min(0.42 * wide, x + side * 46 * unit)), Math.min(0.42 * high, Math.max(-0.4 * high, y - 46 * unit))];
    items.push(disc([x, y], 8 * unit, { line: "paper", line_px: 5 }), disc([x, y], 8 * unit, { line: "ink", line_px: 2 }),
      path([[...tail, x + side * 6 * unit, y - 6 * unit]], { closed: false, line: "ink", line_px: 1.5 }),
      ...label([tail[0], tail[1] - 14 * unit], words, unit, { anchor: side > 0 ? "start" : "end" }));
  }
  return items;
}

/**
 * A few teeth close up, true geometry, with the gaps between flexible teeth and the ring in front. `look` says where
 * (lookPlace) and how many mm stand across (`width_mm`); `cross` is a place in the picture in mm from its middle. Only
 * teeth in view are computed. With a magnified deflection no gap is told. Returns { picture, told }; told: `least` and
 * `cross` in mm (null where there is none), `centre` and `up` of the picture in the frame that is seen.
 */
export function closeScene(parts, angle, { seen = "held", front = 0, look, widthPx = 600, tall = 0.75, cross = [0, 0] }) {
  const { parameters } = parts;
  const mesh = (parts.mesh ??= meshOf(parameters));
  const classes = (parts.classes ??= gapClasses(parameters));
  const at = pose(parameters, angle);
  const back = seen === "generator" ? -at.generator_rad : 0;
  const where = lookPlace(parts, at, front, back, look);
  const place = into(where);
  const [wide, high] = [look.width_mm, look.width_mm * tall];
  const unit = wide / widthPx;
  const ring = parts.rings[front];
  const far = Math.hypot(...where.centre);
  const middle = Math.atan2(where.centre[1], where.centre[0]);
  const reach = Math.min(Math.PI / 2, Math.hypot(wide, high) / 2 / Math.max(far, wide) + (1.5 * TURN) / ring.teeth);
  const inGenerator = at.generator_rad + back;
  const ringTurn = at.rings_rad[front] + back;
  const body = place(ringPiece(ring, mesh.spaces[front], unwrap(middle - ringTurn, 0), reach), ringTurn);
  const flexible = flexiblePiece(parts, mesh, at, ring.row, unwrap(middle - inGenerator, 0), reach);
  const role = ringRole(front);
  const held = (member, name) => (parameters.roles.held === member ? { hatch: name } : {});
  const zero = place([0, 0], 0);
  const items = [
    group(parts.generator, [[zero[0], zero[1], inGenerator + TURN / 4 - where.up]]),
    path([body], { fill: `${role}_soft`, line: role, line_px: 1.5, ...held(ring.name, role) }),
    path([place(flexible.loop, inGenerator)], { fill: "flexible_soft", line: "flexible", line_px: 1.5, ...held("flexible", "flexible") }),
    ...flexible.marked.map((own) => path([place(own, inGenerator)], { fill: "tooth_mark" })),
  ];
  const untrue = timesWords(parameters);
  const told = { least: null, cross: null, at: cross };
  if (!untrue) {
    const sees = (turn) => {
      const [ox, oy, ax, ay, bx, by] = place([0, 0, 1, 0, 0, 1], turn + inGenerator);
      return (x, y) => Math.abs(ox + (ax - ox) * x + (bx - ox) * y) <= wide / 2
        && Math.abs(oy + (ay - oy) * x + (by - oy) * y) <= high / 2;
    };
    const reach = classes[classes.length - 1].below;
    const size = parts.rows[ring.row].tip + (TURN * far) / ring.teeth;
    const teeth = flexible.shown.filter((tooth) => {
      const [u, v] = place(at.teeth[ring.row][tooth].slice(0, 2), inGenerator);
      return Math.abs(u) <= wide / 2 + size && Math.abs(v) <= high / 2 + size;
    }).map((tooth) => toothGaps(mesh, at, front, tooth, { step: 4 * unit, reach, sees }));
    for (const { least } of teeth) if (least.gap < (told.least?.gap ?? Infinity)) told.least = least;
    const tilt = where.up - TURN / 4;
    const [px, py] = spun(cross, tilt);
    told.cross = gapNear(mesh, front, teeth, ...spun([px + where.centre[0], py + where.centre[1]], -inGenerator));
    const seenPlace = (points, turn) => place(points, turn + inGenerator);
    items.push(...gapItems(teeth, classes, seenPlace, unit), ...toldItems(told, seenPlace, wide, high, unit));
  }
  items.push(...closeBar(wide, high, unit));
  if (untrue) items.push(...label([-wide / 2 + 10 * unit, high / 2 - 20 * unit], untrue, unit, { colour: "warn" }));
  const [least, crossed] = [told.least?.gap ?? null, told.cross?.gap ?? null];
  const words = least === null ? "No flexible tooth is in view" : `Smallest gap in view: ${microns(least)}`;
  return {
    picture: { view: [-wide / 2, -high / 2, wide / 2, high / 2], items, title: "Teeth close up", description: untrue || words },
    told: { least, cross: crossed, ...where },
  };
}

// ---- 7 element ------------------------------------------------------------------------------------------------

/** Load cases by rising torque with "none" (null) where zero stands among them; only that when there are no loads. */
export function loadCases(parameters) {
  const known = casesOf(parameters);
  const cases = known.map((_, k) => k);
  if (known.some((one) => one.torque_nm === 0)) return cases;
  const below = cases.filter((k) => known[k].torque_nm < 0).length;
  return [...cases.slice(0, below), null, ...cases.slice(below)];
}

/** The choice whose torque is nearest to `torque`: none stays none, and another does not become none while there are any. */
export function nearestCase(parameters, torque) {
  const of = (load) => (load === null ? 0 : casesOf(parameters)[load].torque_nm);
  const away = (load) => Math.abs(of(load) - torque) + (torque !== 0 && of(load) === 0 ? 1e9 : 0);
  return loadCases(parameters).reduce((best, load) => (away(load) < away(best) ? load : best));
}

/** Widths of the close picture, in tooth pitches, and how many steps the slider has between them. */
const WIDEST = 14;
const CLOSEST = 0.12;
const ZOOM_STEPS = 60;
const widthAt = (step, pitch) => pitch * WIDEST * (CLOSEST / WIDEST) ** (step / ZOOM_STEPS);
const stepAt = (width, pitch) => (ZOOM_STEPS * Math.log(width / (pitch * WIDEST))) / Math.log(CLOSEST / WIDEST);

const SPEEDS = [0.5, 1, 2, 4, 8, 15, 30, 60]; // turns a minute
const GLIDE_MS = 260;
const CALM_STEP_MS = 900; // one tooth at a time where reduced motion is asked for

const STYLE = `
:host{display:block;color:var(--ink);font-variant-numeric:tabular-nums lining-nums;container-type:inline-size}
:host([hidden]),[hidden]{display:none!important}
.whole{display:grid;grid-template:"round flat" "keys keys" "under under" "near near" "count count"/minmax(0,1.12fr) minmax(0,1fr);
 gap:1rem 1.8rem;align-items:start}
.look{grid-area:round}.flat{grid-area:flat}.keys{grid-area:keys}.count{grid-area:count}.near{grid-area:near}.under{grid-area:under}
.near{display:grid;grid-template-columns:minmax(0,1.5fr) minmax(15rem,1fr);gap:.6rem 1.8rem;align-items:start}
.round{position:relative;aspect-ratio:1;max-width:min(100%,80vh);margin:0 auto}
.pane{position:relative;aspect-ratio:4/3;border:1px solid var(--rule)}
canvas{position:absolute;inset:0;width:100%;height:100%;display:block}
.grip{position:absolute;inset:3%;border-radius:50%;touch-action:none;cursor:grab}
.grip:active,.hold:active{cursor:grabbing}
.hold{position:absolute;inset:0;touch-action:none;cursor:crosshair}
.sheet{position:relative;touch-action:pan-y;cursor:ew-resize}
:focus-visible{outline:3px solid var(--lobe-mark);outline-offset:2px}
.grip:focus-visible,.hold:focus-visible{outline:2px dashed var(--ink)}
h3{font-size:1.1rem;line-height:1.25;font-weight:600;margin:0 0 .3rem;color:var(--ink)}
dl{margin:0;display:grid;grid-template-columns:repeat(auto-fit,minmax(9.5rem,1fr));gap:0 1.4rem}
dl div{border-top:3px solid;padding:.4rem 0 .7rem}
dt,dd{margin:0;color:var(--ink);overflow-wrap:anywhere}
dd{font-size:1.45rem;line-height:1.25;white-space:nowrap}
small{display:block;color:var(--quiet);font-size:.82rem;line-height:1.3}
dd small{font-size:.82rem}
.ratio{font-size:1.15rem;margin:.3rem 0 .1rem;font-weight:600}
.quiet{color:var(--quiet);font-size:.9rem;line-height:1.45;margin:.2rem 0 0;max-width:75ch}
.keys{display:flex;flex-wrap:wrap;gap:.5rem 1.1rem;align-items:center;padding:.6rem 0;border-block:1px solid var(--rule)}
.keys>*{flex:1 1 auto}
button,select{font:inherit;color:inherit;background:var(--panel);border:1px solid var(--quiet);
 min-height:2.75rem;padding:.3rem 1rem;cursor:pointer;line-height:1.15}
button{border-radius:1.4rem}
select{border-radius:.3rem;min-width:0;flex:1;padding:.3rem .5rem}
button:hover{border-color:var(--ink)}
button.main{background:var(--ink);color:var(--paper);border-color:var(--ink);font-weight:600;min-width:6rem}
label,fieldset{display:flex;align-items:center;gap:.2rem .7rem;margin:0;padding:0;border:0;min-width:0}
fieldset{flex-wrap:wrap}
legend{float:left;padding:0;color:var(--quiet)}
label>span{color:var(--quiet)}
.side label>span{min-width:3.6rem}
.forces,.stress{margin:.2rem 0 .1rem;max-width:75ch;line-height:1.45}
.least{font-size:1.45rem;line-height:1.25;margin:.5rem 0 0}
.least small,.at-cross small{display:inline;margin-right:.2em}
.at-cross{margin:.1rem 0 .5rem}
.pick{gap:.35rem;min-height:2.75rem}
input{accent-color:var(--ink);margin:0}
input[type=radio]{width:1.15rem;height:1.15rem}
input[type=range]{flex:1;min-width:5rem;height:2.75rem}
output{min-width:6.6rem;text-align:right}
.sign,.bins{display:flex;flex-wrap:wrap;justify-content:center;gap:.2rem 1.3rem;color:var(--quiet);font-size:.9rem;margin:.3rem 0 0;
 padding:0;list-style:none}
.bins{justify-content:start}
.side .bins{display:grid;grid-template-columns:repeat(auto-fill,minmax(13rem,1fr))}
.sign li,.bins li{display:flex;gap:.45rem;align-items:center}
.sign svg,.bins svg{flex:none}
details{margin-top:.9rem;color:var(--quiet);font-size:.9rem}
summary{cursor:pointer;min-height:1.8rem}
details p{margin:.2rem 0;max-width:75ch;line-height:1.6}
kbd{font:inherit;border:1px solid var(--rule);border-radius:.2rem;padding:0 .3em;color:var(--ink)}
@container (max-width:46rem){.keys{display:grid;grid-template-columns:repeat(6,1fr)}.keys>*{grid-column:1/-1}
 .keys>button{grid-column:span 2;padding:.3rem}.keys>.half{grid-column:span 3}
 .whole{grid-template:"round" "keys" "under" "near" "count" "flat"/minmax(0,1fr)}.near{grid-template-columns:minmax(0,1fr)}}
`;

const FRAME = `
<div class="whole">
 <div class="look"><div class="round"><canvas part="drive"></canvas>
  <div class="grip" part="grip" tabindex="0" role="slider" aria-valuemin="0" aria-valuemax="360"></div></div>
  <ul class="sign">
   <li><svg width="26" height="12" aria-hidden="true"><path d="M0 6h16M14 1l11 5-11 5z" fill="var(--lobe-mark)" stroke="var(--lobe-mark)" stroke-width="2"/></svg>marked lobe</li>
   <li><svg width="26" height="12" aria-hidden="true"><path d="M7 6h18" stroke="var(--tooth-mark)" stroke-width="2.5"/><circle cx="6" cy="6" r="5" fill="var(--tooth-mark)"/></svg>marked tooth</li>
   <li class="push"><svg width="26" height="12" aria-hidden="true"><path d="M0 6L16 2.5 26 6 16 9.5z" fill="var(--ink)"/></svg>push of a tooth on the ring in front</li>
   <li class="push wheels"><svg width="26" height="12" aria-hidden="true"><path d="M0 6h16M14 1l11 5-11 5z" fill="var(--generator)" stroke="var(--generator)" stroke-width="2.4"/></svg>push of the generator on its row</li>
   <li><svg width="26" height="12" aria-hidden="true"><path class="trail" d="M1 10a22 22 0 0 1 24 0" fill="none" stroke-width="4"/></svg><span class="way"></span></li>
   <li><svg width="26" height="14" aria-hidden="true"><path d="M6 2h14v10H6z" fill="none" stroke="var(--ink)" stroke-width="1.5"/></svg>shown close up</li>
  </ul></div>
 <div class="flat"><div class="sheet"><canvas part="unrolled" role="img"></canvas></div><p class="quiet note"></p></div>
 <div class="keys">
  <button data-do="back">One tooth back</button>
  <button class="main" data-do="play">Play</button>
  <button data-do="on">One tooth on</button>
  <button class="half" data-do="flip">Turn the other way</button>
  <button class="half" data-do="home">To the start</button>
  <label class="pace"><span>Speed</span><input type="range" min="0" max="${SPEEDS.length - 1}" step="1"><output></output></label>
  <label class="load"><span>Torque</span><input type="range" min="0" step="1"><output></output></label>
  <label class="times"><span>Deflection drawn</span><input type="range" min="1" max="10" step="1" value="1"><output></output></label>
  <fieldset data-pick="seen"><legend>Seen from</legend></fieldset>
  <fieldset data-pick="front"><legend>In front</legend></fieldset>
 </div>
 <div class="under"><p class="forces"></p><p class="stress"></p><ul class="bins levels"></ul></div>
 <div class="near">
  <div class="pane"><canvas part="close"></canvas><div class="hold" part="hold" tabindex="0" role="group" aria-describedby="least at-cross"></div></div>
  <div class="side">
   <h3>Teeth close up</h3>
   <label class="spot"><span>Look at</span><select></select></label>
   <label class="where"><span>Place</span><input type="range" min="0" max="360" step="0.25"><output></output></label>
   <label class="wide"><span>Width</span><input type="range" min="0" max="${ZOOM_STEPS}" step="1"><output></output></label>
   <p class="least" id="least"></p><p class="at-cross" id="at-cross"></p>
   <ul class="bins gaps"></ul>
   <p class="quiet">True geometry of the unloaded drive, ring in front only. Hatch lines run across each gap, closer where it is
   tighter and crossed where teeth overlap.</p>
  </div>
 </div>
 <div class="count"><dl></dl><p class="ratio"></p><p class="quiet rule"></p>
  <details><summary>By hand and by key</summary>
   <p>Drag round the middle to turn, or drag the unrolled picture sideways. With the round picture in focus:
   <kbd>←</kbd> <kbd>→</kbd> one tooth, <kbd>Page Up</kbd> <kbd>Page Down</kbd> a quarter turn, <kbd>Space</kbd> play or stop,
   <kbd>+</kbd> <kbd>−</kbd> speed, <kbd>Home</kbd> to the start.</p>
   <p>Drag the teeth close up to look elsewhere; two fingers apart, or the wheel once the picture is in focus, look closer. The
   cross follows the pointer. With the close picture in focus: arrows look elsewhere, <kbd>+</kbd> <kbd>−</kbd> closer and wider,
   <kbd>Home</kbd> back to the marked tooth, <kbd>Space</kbd> play or stop.</p></details></div>
</div>`;

const SVG = "http://www.w3.org/2000/svg";

/**
 * `<lobewright-moving source="id">`: data from a JSON script of that id, or from the property `data`. Tells every angle that
 * it has painted by the event `turned`, detail { rad }.
 */
export class Moving extends Painting {
  constructor() {
    super();
    this.root = this.attachShadow({ mode: "open" });
    this.calm = matchMedia("(prefers-reduced-motion: reduce)");
    this.dark = matchMedia("(prefers-color-scheme: dark)");
    this.repaint = () => this.ask();
    this.watch = new ResizeObserver(this.repaint);
    // What is scrolled out of view is not painted; until it is known, everything counts as in view.
    this.unseen = new Set();
    this.glance = new IntersectionObserver((entries) => {
      for (const { target, isIntersecting } of entries) this.unseen[isIntersecting ? "delete" : "add"](target);
      this.ask();
    });
  }

  connectedCallback() {
    this.dark.addEventListener("change", this.repaint);
    const source = this.getAttribute("source");
    if (source && !this.parts) this.data = JSON.parse(document.getElementById(source).textContent);
    else if (this.parts) this.observe();
  }

  disconnectedCallback() {
    if (this.at) this.play(false);
    this.watch.disconnect();
    this.glance.disconnect();
    this.unseen.clear();
    this.dark.removeEventListener("change", this.repaint);
  }

  observe() {
    for (const target of [this.at.round, this.at.sheet, this.at.near]) {
      this.watch.observe(target);
      this.glance.observe(target);
    }
    this.ask();
  }

  /** A drive, from its start. */
  set data({ parameters, palette }) {
    Object.assign(this, {
      turned: 0, playing: false, way: 1, speed: 3, seen: "held", front: 0, glide: null, load: null, torque: null, times: 1,
      rough: false, older: false,
      look: { spot: "tooth", place_rad: 0, out_mm: 0, width_mm: 0 }, cross: null,
    });
    this.take(parameters, palette);
  }

  /**
   * Other parameters, shown where the picture stands: what turns keeps turning, what was chosen stays chosen where it
   * still exists. `rough`: the parameters were computed coarsely, numbers of the gaps are about right only. `older`: loads
   * and stress are those of the drive before, until those of this one come.
   */
  /** `chosen`: the torque is chosen elsewhere, so it is not chosen here. */
  show({ parameters, palette, rough = false, older = false, chosen = false }) {
    if (!this.parts) this.data = { parameters, palette };
    const before = this.pitch;
    Object.assign(this, { rough, older, chosen });
    this.take(parameters, palette ?? this.palette);
    this.look.width_mm *= this.pitch / before;
  }

  /** The picture's angle in rad: the generator's, or that of the driven member's turn count when the generator is held. */
  get angle() {
    return this.turned;
  }

  set angle(angle) {
    this.turned = angle;
    this.ask();
  }

  /** The tooth pitch in mm. */
  get pitch() {
    const { shape, rows } = this.parts.parameters;
    return (TURN * shape.radius_mm) / rows[0].teeth;
  }

  /** Everything that follows from the parameters; nothing of what a person chose but what no longer exists. */
  take(parameters, palette) {
    if (!this.at) this.build();
    if (palette !== this.palette) this.dress(palette);
    this.parts = this.prepared(parameters);
    this.drawn = this.times === 1 ? this.parts : this.prepared(magnified(parameters, this.times));
    this.cases = loadCases(parameters);
    this.front = Math.min(this.front, parameters.rings.length - 1);
    if (parameters.turns.generator === 0) this.seen = "held";
    if (typeof this.look.spot === "number" && this.look.spot >= parameters.shape.lobes) this.look.spot = 0;
    if (!this.look.width_mm) this.look.width_mm = 3.2 * this.pitch;
    this.words();
    this.setSpeed(this.speed);
    this.setTimes(this.times);
    this.setLoad(this.torque === null ? this.cases[this.cases.length - 1] : nearestCase(parameters, this.torque));
  }

  /** Parts for the size at which the round picture stands now. */
  prepared(parameters) {
    return prepare(parameters, Math.max(240, (this.at.round.clientWidth || 600) * (window.devicePixelRatio || 1)));
  }

  dress(palette) {
    const rules = (theme) => Object.entries(palette[theme])
      .map(([role, colour]) => `--${role.replaceAll("_", "-")}:${colour}`).join(";");
    const sheet = new CSSStyleSheet();
    sheet.replaceSync(`:host{${rules("light")}}@media (prefers-color-scheme:dark){:host{${rules("dark")}}}${STYLE}`);
    this.root.adoptedStyleSheets = [sheet];
    this.palette = palette;
  }

  build() {
    this.root.innerHTML = FRAME;
    const find = (what) => this.root.querySelector(what);
    this.at = {
      find, grip: find(".grip"), sheet: find(".sheet"), round: find(".round"), near: find(".near"), pane: find(".pane"), hold: find(".hold"),
      play: find("[data-do=play]"), range: find(".pace input"), pace: find(".pace output"), forces: find(".forces"),
      loadRange: find(".load input"), loadWords: find(".load output"), timesRange: find(".times input"),
      timesWords: find(".times output"), spot: find(".spot select"), where: find(".where"), wide: find(".wide"),
      least: find(".least"), atCross: find(".at-cross"), stress: find(".stress"), cells: [],
      drive: new Painter(find("[part=drive]")), unrolled: new Painter(find("[part=unrolled]")), close: new Painter(find("[part=close]")),
    };
    this.listen();
    this.observe();
  }

  /** Every name from the data goes in as text, never as markup. What says the same as before is left alone. */
  words() {
    const { find } = this.at;
    const { parameters, rings, rows } = this.parts;
    const { roles } = parameters;
    const part = (member) => ["held", "driven", "read"].filter((role) => roles[role] === member)
      .map((role) => ({ held: "held", driven: "driven", read: "output" }[role])).join(", ") || "free to turn";
    const members = [
      ["generator", "generator", ""], ["flexible", "flexible", [...new Set(rows.map((row) => row.teeth))].join(" / ")],
      ...rings.map((ring, index) => [ring.name, ringRole(index), ring.teeth]),
    ];
    this.kept("members", members.map(([member, , teeth]) => [memberName(parameters, member), part(member), teeth]), () => {
      this.at.cells = members.map(([member, colour, teeth]) => {
        const [cell, name, value] = ["div", "dt", "dd"].map((tag) => document.createElement(tag));
        cell.style.borderColor = `var(--${colour.replace("_", "-")})`;
        name.append(memberName(parameters, member), small(teeth ? `${part(member)}, ${teeth} teeth` : part(member)));
        value.dataset.member = member;
        cell.append(name, value);
        return [value, cell];
      });
      find("dl").replaceChildren(...this.at.cells.map(([, cell]) => cell));
    });
    say(find(".ratio"), `Ratio ${parameters.ratio_text}`);
    say(find(".rule"), this.ruleText());
    say(find(".way"), `how far ${memberName(parameters, roles.read)} has turned`);
    const read = members.find(([member]) => member === roles.read)[1];
    find(".trail").style.stroke = `var(--${read.replace("_", "-")})`;
    this.at.grip.setAttribute("aria-label", `Turn: ${memberName(parameters, leading(parameters))}`);
    const equal = rings.filter((ring) => ring.teeth === rows[ring.row].teeth);
    say(find(".note"), `The same drive unrolled over one turn, heights drawn ${stretch(this.parts)} times. `
      + "A bar stands where the racks line up within a tenth of a tooth pitch: solid where the teeth are in mesh, open "
      + "where they are apart. The bars run with the lobes"
      + (equal.length ? `. ${equal.map((ring) => ring.name).join(" and ")} has as many teeth as its row, so each tooth only rocks in its own space.` : "."));
    this.choices();
    this.legends();
  }

  /** Makes a piece of the page anew only where what it is made from has changed. */
  kept(name, from, make) {
    const now = JSON.stringify(from);
    this.made ??= {};
    if (this.made[name] === now) return;
    this.made[name] = now;
    make();
  }

  choices() {
    const { parameters, rings } = this.parts;
    this.picks("seen", [["held", memberName(parameters, parameters.roles.held)],
      ...(parameters.turns.generator === 0 ? [] : [["generator", memberName(parameters, "generator")]])]);
    this.picks("front", rings.map((ring, index) => [index, ring.name]));
    const lobes = Array.from({ length: parameters.shape.lobes }, (_, k) => [k, k ? `lobe ${k + 1}` : "the marked lobe"]);
    const spots = [["tooth", "the marked tooth"], ...lobes, ["place", "a place in the picture"]];
    this.kept("spots", spots, () => this.at.spot.replaceChildren(...spots.map(([value, words]) => new Option(words, value))));
    this.at.spot.value = this.look.spot;
  }

  /** Legends, and what has nothing to say hidden. */
  legends() {
    const { find } = this.at;
    const { parameters } = this.parts;
    const { loads, stress } = parameters;
    const classes = gapClasses(parameters);
    this.kept("gaps", classes, () => find(".gaps").replaceChildren(...classes.map((one) => legendLine(one, one.words))));
    const stressed = isStressed(parameters);
    const step = stressed ? stressStep(parameters) : 0;
    this.kept("levels", [step, stress?.unit], () => find(".levels").replaceChildren(...(stressed ? LEVELS : []).map((role, k) =>
      legendLine({ role }, k < 3 ? `${short(k * step)} to ${short((k + 1) * step)} ${stress.unit}` : `over ${short(3 * step)} ${stress.unit}`))));
    const wheels = loads?.cases[0].rings[0].wheels_n.length > 0;
    const hide = (what, hidden) => this.root.querySelectorAll(what).forEach((one) => { one.hidden = hidden; });
    hide(".load", this.chosen || this.cases.length < 2);
    hide(".forces, .push", !loads);
    hide(".wheels", !wheels);
    hide(".stress", !stress);
    hide(".levels", !stressed);
    hide(".under", !loads && !stress);
  }

  ruleText() {
    const { parameters, rows } = this.parts;
    const { turns, roles } = parameters;
    if (turns.generator === 0) return "";
    const passed = Math.abs(turns.flexible - turns.generator) * rows[0].teeth;
    const led = turnsOf(parameters, roles.read);
    return `While the generator turns once, ${tidy(passed)} teeth pass each lobe and ${memberName(parameters, roles.read)} `
      + `turns ${degrees(led * TURN)}${led < 0 ? ", against the generator" : ""}. The shape runs round fast; the material comes along slowly.`;
  }

  picks(name, choices) {
    const box = this.root.querySelector(`[data-pick=${name}]`);
    box.hidden = choices.length < 2;
    this.kept(name, choices, () => {
      box.querySelectorAll("label").forEach((old) => old.remove());
      for (const [value, words] of choices) {
        const label = document.createElement("label");
        label.className = "pick";
        const input = Object.assign(document.createElement("input"), { type: "radio", name, checked: value === this[name] });
        input.addEventListener("change", () => {
          this[name] = value;
          this.ask();
        });
        label.append(input, words);
        box.append(label);
      }
    });
  }

  listen() {
    const { grip, sheet, range, loadRange, timesRange, spot, where, wide, hold } = this.at;
    const actions = {
      play: () => this.play(!this.playing),
      flip: () => { this.way = -this.way; },
      home: () => { this.play(false); this.glideTo(0); },
      back: () => this.step(-1),
      on: () => this.step(1),
    };
    this.root.querySelectorAll("[data-do]").forEach((button) => button.addEventListener("click", actions[button.dataset.do]));
    range.addEventListener("input", () => this.setSpeed(Number(range.value)));
    loadRange.addEventListener("input", () => {
      const load = this.cases[Number(loadRange.value)];
      this.torque = load === null ? 0 : casesOf(this.parts.parameters)[load].torque_nm;
      this.setLoad(load);
    });
    timesRange.addEventListener("input", () => this.setTimes(Number(timesRange.value)));
    spot.addEventListener("change", () => this.lookAt(spot.value));
    const place = where.querySelector("input");
    place.addEventListener("input", () => this.lookAt("place", { place_rad: (Number(place.value) * TURN) / 360 }));
    const closeness = wide.querySelector("input");
    closeness.addEventListener("input", () => this.setWidth(widthAt(Number(closeness.value), this.pitch)));
    const quarter = () => this.lead(TURN / 4);
    keys(grip, {
      ArrowRight: actions.on, ArrowUp: actions.on, ArrowLeft: actions.back, ArrowDown: actions.back,
      PageUp: () => this.glideTo(this.goal() + quarter()), PageDown: () => this.glideTo(this.goal() - quarter()),
      " ": actions.play, Home: actions.home,
      "+": () => this.setSpeed(this.speed + 1), "-": () => this.setSpeed(this.speed - 1),
    });
    const nudge = (x, y) => () => this.pan(0.06 * x * this.look.width_mm, 0.06 * y * this.look.width_mm);
    keys(hold, {
      ArrowRight: nudge(1, 0), ArrowLeft: nudge(-1, 0), ArrowUp: nudge(0, 1), ArrowDown: nudge(0, -1),
      "+": () => this.setWidth(this.look.width_mm / 1.25), "=": () => this.setWidth(this.look.width_mm / 1.25),
      "-": () => this.setWidth(this.look.width_mm * 1.25), Home: () => this.lookAt("tooth"), " ": actions.play,
    });
    this.drag(grip, (event) => {
      const box = grip.getBoundingClientRect();
      return -Math.atan2(event.clientY - box.top - box.height / 2, event.clientX - box.left - box.width / 2);
    });
    this.drag(sheet, (event) => ((event.clientX / sheet.clientWidth) * TURN) / this.pieces());
    this.handle(hold);
  }

  /** Drag turns the leading member by the change of `measure`, an angle. */
  drag(target, measure) {
    let last = null;
    target.addEventListener("pointerdown", (event) => {
      if (event.button > 0) return;
      this.play(false);
      target.setPointerCapture(event.pointerId);
      last = measure(event);
    });
    target.addEventListener("pointermove", (event) => {
      if (last === null) return;
      const now = measure(event);
      // Seen from the generator the rest turns the other way under the hand.
      this.angle = this.turned + this.lead(unwrap(now - last, 0)) * (this.seen === "generator" ? -1 : 1);
      last = now;
    });
    const end = () => { last = null; };
    for (const name of ["pointerup", "pointercancel", "lostpointercapture"]) target.addEventListener(name, end);
  }

  /** The close picture by hand: one pointer shifts it, two pinch it, the wheel brings it closer, the cross follows. */
  handle(hold) {
    const held = new Map();
    const spotOf = (event) => {
      const box = hold.getBoundingClientRect();
      const scale = this.look.width_mm / box.width;
      return [(event.clientX - box.left - box.width / 2) * scale, (box.top + box.height / 2 - event.clientY) * scale];
    };
    const spread = () => {
      const [one, other] = [...held.values()];
      return Math.hypot(one[0] - other[0], one[1] - other[1]);
    };
    hold.addEventListener("pointerdown", (event) => {
      if (event.button > 0) return;
      hold.setPointerCapture(event.pointerId);
      held.set(event.pointerId, [event.clientX, event.clientY]);
    });
    hold.addEventListener("pointermove", (event) => {
      this.cross = spotOf(event);
      this.ask();
      const before = held.get(event.pointerId);
      if (!before) return;
      const apart = held.size === 2 ? spread() : 0;
      held.set(event.pointerId, [event.clientX, event.clientY]);
      const scale = this.look.width_mm / hold.clientWidth;
      if (held.size === 1) this.pan(-(event.clientX - before[0]) * scale, (event.clientY - before[1]) * scale);
      else if (held.size === 2 && apart > 0) this.setWidth((this.look.width_mm * apart) / Math.max(spread(), 1));
    });
    const end = (event) => held.delete(event.pointerId);
    for (const name of ["pointerup", "pointercancel", "lostpointercapture"]) hold.addEventListener(name, end);
    hold.addEventListener("pointerleave", () => {
      this.cross = null;
      this.ask();
    });
    hold.addEventListener("wheel", (event) => {
      // A page is scrolled over the picture unless a person chose the picture; a pinch on a pad comes as wheel with ctrl.
      if (!event.ctrlKey && this.root.activeElement !== hold) return;
      event.preventDefault();
      this.setWidth(this.look.width_mm * Math.exp(Math.max(-0.5, Math.min(0.5, event.deltaY * (event.ctrlKey ? 0.01 : 0.002)))));
    }, { passive: false });
  }

  /** Shifts the close picture by mm of its own; from then on it stands at a place. */
  pan(x, y) {
    const { parameters, rings } = this.drawn;
    const at = pose(parameters, this.turned);
    const back = this.seen === "generator" ? -at.generator_rad : 0;
    const { centre, up } = lookPlace(this.drawn, at, this.front, back, this.look);
    const [dx, dy] = spun([x, y], up - TURN / 4);
    const [cx, cy] = [centre[0] + dx, centre[1] + dy];
    const ring = rings[this.front];
    const middle = (ring.tip_radius_mm + ring.root_radius_mm) / 2;
    const room = ring.outer_radius_mm - middle;
    this.lookAt("place", {
      place_rad: wrap(Math.atan2(cy, cx), TURN), out_mm: Math.max(-room, Math.min(room, Math.hypot(cx, cy) - middle)),
    });
  }

  /** Looks closely at the marked tooth ("tooth"), a lobe (its number) or a place ("place", where the picture is now). */
  lookAt(spot, more = {}) {
    const which = spot === "tooth" || spot === "place" ? spot : Number(spot);
    if (which === "place" && this.look.spot !== "place" && !("place_rad" in more)) {
      this.pan(0, 0);
      return;
    }
    Object.assign(this.look, { spot: which, ...more });
    this.at.spot.value = which;
    this.ask();
  }

  setWidth(width) {
    const { pitch } = this;
    this.look.width_mm = Math.min(WIDEST * pitch, Math.max(CLOSEST * pitch, width));
    this.ask();
  }

  /** Picture angle for an angle of the leading member. */
  lead(angle) {
    const { parameters } = this.parts;
    return angle / turnsOf(parameters, leading(parameters));
  }

  pieces(width = this.at.sheet.clientWidth) {
    const teeth = Math.max(...this.parts.rows.map((row) => row.teeth));
    return width / teeth < 6 ? this.parts.parameters.shape.lobes : 1;
  }

  setSpeed(speed) {
    this.speed = Math.min(SPEEDS.length - 1, Math.max(0, speed));
    this.at.range.value = this.speed;
    say(this.at.pace, `${SPEEDS[this.speed]} turns/min`);
    this.at.range.setAttribute("aria-valuetext", `${SPEEDS[this.speed]} turns a minute`);
  }

  /** Draws the deflection so many times as large, from 1 (true) to 10. */
  setTimes(times) {
    if (times !== this.times) {
      this.times = times;
      this.drawn = times === 1 ? this.parts : this.prepared(magnified(this.parts.parameters, times));
    }
    this.at.timesRange.value = times;
    say(this.at.timesWords, times === 1 ? "as it is" : `${times} times`);
    this.at.timesRange.setAttribute("aria-valuetext", times === 1 ? "true geometry" : `${times} times, not true geometry`);
    this.ask();
  }

  /** Shows a load case (an index), or none (null). */
  setLoad(load) {
    const { loadRange, loadWords } = this.at;
    const { parameters } = this.parts;
    const words = torqueWords(parameters, load);
    this.load = load;
    loadRange.max = this.cases.length - 1;
    loadRange.value = this.cases.indexOf(load);
    say(loadWords, words);
    const member = parameters.loads?.member;
    loadRange.setAttribute("aria-valuetext", load === null || !member ? words : `${words} on ${memberName(parameters, member)}`);
    if (parameters.stress) say(this.at.stress, this.dated(stressWords(parameters, load)));
    this.ask();
  }

  /** Words about a torque, with the drive named that they are about where it is not this one. */
  dated(words) {
    return this.older ? `Of the drive before: ${words}` : words;
  }

  play(on) {
    this.playing = on;
    this.glide = null;
    this.before = null;
    say(this.at.play, on ? "Stop" : "Play");
    this.ask();
  }

  goal() {
    return this.glide ? this.glide.to : this.turned;
  }

  step(count) {
    if (this.playing) this.play(false);
    this.glideTo(this.goal() + count * toothStep(this.parts.parameters, this.parts.rings[this.front].row));
  }

  glideTo(to) {
    if (this.calm.matches) this.turned = to;
    else this.glide = { from: this.turned, to, begun: null };
    this.ask();
  }

  get ready() {
    return Boolean(this.parts);
  }

  move(now) {
    if (this.glide) {
      const { from, to, begun } = this.glide;
      this.glide.begun ??= now;
      const part = Math.min(1, (now - (begun ?? now)) / GLIDE_MS);
      this.turned = from + (to - from) * part * (2 - part);
      if (part === 1) {
        this.turned = to;
        this.glide = null;
      }
    }
    if (!this.playing) return;
    const passed = this.before === null ? 0 : now - this.before;
    if (this.calm.matches) {
      if (this.before !== null && passed < CALM_STEP_MS) return;
      if (passed) this.turned += this.way * toothStep(this.parts.parameters, this.parts.rings[this.front].row);
    } else {
      this.turned += this.lead((this.way * SPEEDS[this.speed] * TURN * Math.min(passed, 100)) / 60000);
    }
    this.before = now;
  }

  draw() {
    const { at, parts, drawn, turned, seen, front, load } = this;
    const colours = this.palette[this.dark.matches ? "dark" : "light"];
    const paint = { density: window.devicePixelRatio || 1, colours, font: getComputedStyle(this).fontFamily };
    // Sizes are read before anything is written, so that the page is laid out once a frame.
    const [size, width, stood] = [at.round.clientWidth, at.sheet.clientWidth, at.sheet.clientHeight];
    const close = this.drawClose(paint, at.pane.clientWidth, at.pane.clientHeight);
    if (!this.unseen.has(at.round)) {
      at.drive.paint(driveScene(drawn, turned, { seen, front, load, frame: close.frame }), { ...paint, width: size, height: size });
    }
    if (width > 0 && !this.unseen.has(at.sheet)) {
      const flat = unrolledScene(parts, turned, { seen, widthPx: width, pieces: this.pieces(width) });
      const height = Math.round((width * (flat.view[3] - flat.view[1])) / flat.view[2]);
      at.unrolled.paint(flat, { ...paint, width, height });
      if (stood !== height) at.sheet.style.height = `${height}px`;
      if (at.unrolled.canvas.getAttribute("aria-label") !== flat.description) at.unrolled.canvas.setAttribute("aria-label", flat.description);
    }
    if (close.told) this.tell(close.told);
    this.read();
    if (this.toldAngle !== turned) {
      this.toldAngle = turned;
      this.dispatchEvent(new CustomEvent("turned", { detail: { rad: turned } }));
    }
  }

  /** Paints the close picture where it is in view: { frame: corners of what it shows in the round picture, told: its gaps }. */
  drawClose(paint, width, height) {
    const { at, drawn, look, seen, front, turned } = this;
    if (width === 0) return { frame: null, told: null };
    const half = [look.width_mm / 2, (look.width_mm * height) / width / 2];
    if (this.unseen.has(at.near)) {
      const stands = pose(drawn.parameters, turned);
      const place = lookPlace(drawn, stands, front, seen === "generator" ? -stands.generator_rad : 0, look);
      return { frame: corners(place, half), told: null };
    }
    const options = { seen, front, look, widthPx: width, tall: height / width, cross: this.cross ?? [0, 0] };
    const { picture, told } = closeScene(drawn, turned, options);
    at.close.paint(picture, { ...paint, width, height });
    return { frame: corners(told, half), told };
  }

  /** The gaps in words, and where the close picture stands. */
  tell({ least, cross, centre }) {
    const { at, look } = this;
    const about = this.rough ? "about " : "";
    const none = this.times === 1 ? "no tooth in view" : "not told";
    line(at.least, "Smallest gap in view", least === null ? none : about + microns(least));
    line(at.atCross, "Gap at the cross", cross === null ? none : about + microns(cross));
    const across = `${three(look.width_mm)} mm across`;
    const closeness = at.wide.querySelector("input");
    closeness.value = stepAt(look.width_mm, this.pitch);
    say(at.wide.querySelector("output"), across);
    closeness.setAttribute("aria-valuetext", across);
    at.where.hidden = look.spot !== "place";
    if (look.spot === "place") {
      const words = degrees(wrap(Math.atan2(centre[1], centre[0]), TURN));
      const place = at.where.querySelector("input");
      place.value = (360 * look.place_rad) / TURN;
      say(at.where.querySelector("output"), words);
      place.setAttribute("aria-valuetext", words);
    }
    const spot = at.spot.selectedOptions[0]?.textContent ?? "";
    const name = `Teeth close up at ${spot}, ${across}`;
    if (at.hold.getAttribute("aria-label") !== name) at.hold.setAttribute("aria-label", name);
  }

  read() {
    const { parameters } = this.parts;
    for (const [cell] of this.at.cells) {
      const angle = turnsOf(parameters, cell.dataset.member) * this.turned;
      const whole = Math.trunc(angle / TURN + Math.sign(angle) * 1e-9);
      const words = `${degrees(angle)}|${tidy(whole)} whole turn${Math.abs(whole) === 1 ? "" : "s"}`;
      if (cell.dataset.shown === words) continue;
      cell.dataset.shown = words;
      const [main, below] = words.split("|");
      cell.replaceChildren(main, small(below));
    }
    if (parameters.loads) say(this.at.forces, this.dated(forceWords(parameters, this.front, this.load)));
    const { grip } = this.at;
    const led = wrap(turnsOf(parameters, leading(parameters)) * this.turned, TURN);
    grip.setAttribute("aria-valuenow", ((led * 360) / TURN).toFixed(1));
    grip.setAttribute("aria-valuetext", spoken(this.drawn, this.turned));
  }
}

/** Corners of the close picture in the frame that is seen, flat. */
function corners({ centre, up }, [x, y]) {
  const turned = spun([-x, -y, x, -y, x, y, -x, y], up - TURN / 4);
  return turned.map((number, k) => number + centre[k % 2]);
}

/** Calls what belongs to a key, unless it is pressed with others. */
function keys(target, table) {
  target.addEventListener("keydown", (event) => {
    if (!(event.key in table) || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    table[event.key]();
  });
}

/** A quiet name and a value after it. */
function line(target, name, value) {
  if (target.dataset.shown === value) return;
  target.dataset.shown = value;
  target.replaceChildren(small(name), " ", value);
}

/** A swatch with its hatch, and what it means. */
function legendLine({ role, tick, every, crossed }, words) {
  const svg = document.createElementNS(SVG, "svg");
  svg.setAttribute("width", "40");
  svg.setAttribute("height", "14");
  svg.setAttribute("aria-hidden", "true");
  const add = (d, look) => {
    const shape = document.createElementNS(SVG, "path");
    for (const [name, value] of Object.entries({ d, ...look })) shape.setAttribute(name, value);
    svg.append(shape);
  };
  add("M0 0H40V14H0Z", { fill: `var(--${role.replace("_", "-")})` });
  if (every) {
    let d = "";
    for (let x = every / 2; x < 40; x += every) d += crossed ? `M${x - 5} 0l10 14M${x + 5} 0l-10 14` : `M${x} 0V14`;
    add(d, { stroke: `var(--${tick})`, "stroke-width": "1.2" });
  }
  const item = document.createElement("li");
  item.append(svg, words);
  return item;
}

function small(words) {
  return Object.assign(document.createElement("small"), { textContent: words });
}

/** A number of at most three figures without needless zeros. */
function short(number) {
  return String(Number(number.toPrecision(3)));
}

/** A number without needless places, with a true minus sign. */
function tidy(number) {
  return String(Number(number.toFixed(3))).replace("-", "−");
}

globalThis.customElements?.define("lobewright-moving", Moving);

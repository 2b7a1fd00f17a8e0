// The moving picture of a strain wave drive: one custom element in one module without imports.
//
// It is one file on purpose, longer than the house allows elsewhere: exported pages inline it unchanged, and an inline
// module can import nothing. Its sections, each using only those above it:
//   1 pose        where everything is at an angle; the twin of pose() in make/moving_page.py
//   2 display     makers of the six primitives (documented in picture/display.py)
//   3 drive       scene of the drive seen along its axis
//   4 unrolled    scene of the same drive, unrolled
//   5 painter     display list to canvas
//   6 element     time, controls, readout; the only part that touches the document
// Lengths in mm, angles in rad, y up, anticlockwise positive; line widths and text sizes in pixels.

const TURN = 2 * Math.PI;

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
export function prepare(parameters) {
  const { shape } = parameters;
  const outer = Math.max(...parameters.rings.map((ring) => ring.outer_radius_mm));
  const slack = outer / 12000; // a tenth of a pixel where the picture is 1200 device pixels wide
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
  return {
    parameters, rings, rows, inner, innerRadius, outer,
    bodies: rings.map((ring, index) => path([circle(ring.outer_radius_mm), ringLoop(ring)], {
      fill: `${ringRole(index)}_soft`,
      line: ringRole(index),
      line_px: 1.25,
      ...(parameters.roles.held === ring.name ? { hatch: ringRole(index) } : {}),
    })),
    generator: generatorItems(parameters, innerRadius),
    lines: rings.map((_, index) => runsOf(lineUp(parameters, index))),
    scale: dial(outer),
    force: forceScale(parameters, outer),
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
  const look = { fill: "flexible_soft", line: "flexible", line_px: 1.25 };
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

/** A load case in words, as the control says it. */
export function torqueWords(parameters, load) {
  return load === null ? "no torque" : `${three(parameters.loads.cases[load].torque_nm)} N·m`;
}

/** What the forces on the ring in front are where they are known, in words. */
export function forceWords(parameters, front, load) {
  const { loads, rings } = parameters;
  if (load === null) return "No torque: no forces are drawn.";
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

/** The drive seen from the output side. `seen`: "held" or "generator"; `front`: index of the ring in front; `load`: a load case or null. */
export function driveScene(parts, angle, { seen = "held", front = 0, load = null } = {}) {
  const { parameters, rings, outer } = parts;
  const at = pose(parameters, angle);
  const back = seen === "generator" ? -at.generator_rad : 0;
  const turned = (items, by, look = {}) => group(items, [[0, 0, by + back]], look);
  const rowIndex = rings[front].row;
  const output = turnsOf(parameters, parameters.roles.read) * angle;
  const loaded = load !== null && parts.force !== null;
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
  items.push(
    turned([parts.bodies[front], ringMark(rings[front])], at.rings_rad[front]),
    turned([...flexibleItems(parts, at, rowIndex), ...parts.generator, lobe, ...forces, ...pin], at.generator_rad),
  );
  const edge = 1.13 * outer;
  if (loaded) items.push(...barItems(parts, edge));
  return { view: [-edge, -edge, edge, edge], items, title: "The drive along its axis", description: spoken(parts, angle) };
}

/** Angles in words, for people who hear the picture. */
export function spoken(parts, angle) {
  const { roles, turns, ratio_text: ratio } = parts.parameters;
  const [lead, led] = [leading(parts.parameters), roles.read];
  const of = (member) => `${memberName(parts.parameters, member)} at ${degrees(turnsOf(parts.parameters, member) * angle)}`;
  return `${of(lead)}, ${of(led)}, ratio ${ratio}${turns.generator === 0 ? ", generator held" : ""}`;
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
    const [angle, radius] = toPolar(x, y, near);
    out.push(flat.middle * angle, flat.tall * radius);
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
      path([run], { closed: false, line: role, line_px: 1.25 }),
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
  const look = { fill: "flexible_soft", line: "flexible", line_px: 1.25 };
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

// ---- 5 painter ------------------------------------------------------------------------------------------------

const drawn = new WeakMap();

function outlineOf(item) {
  let kept = drawn.get(item);
  if (kept) return kept;
  kept = new Path2D();
  for (const loop of item.loops) {
    kept.moveTo(loop[0], loop[1]);
    for (let k = 2; k < loop.length; k += 2) kept.lineTo(loop[k], loop[k + 1]);
    if (item.closed !== false) kept.closePath();
  }
  drawn.set(item, kept);
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

  text({ at: [x, y], text: words, size_px: size = 13, colour = "ink", anchor = "start", angle_rad: angle = 0, strong }) {
    const { context, unit } = this;
    context.save();
    context.translate(x, y);
    context.rotate(angle);
    context.scale(unit, -unit);
    context.font = `${strong ? "600 " : ""}${size}px ${this.font}`;
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

// ---- 6 element ------------------------------------------------------------------------------------------------

/** Load cases by rising torque with "none" (null) where zero stands among them; only that when there are no loads. */
export function loadCases({ loads }) {
  const cases = (loads?.cases ?? []).map((_, k) => k);
  const below = cases.filter((k) => loads.cases[k].torque_nm < 0).length;
  return [...cases.slice(0, below), null, ...cases.slice(below)];
}

const SPEEDS = [0.5, 1, 2, 4, 8, 15, 30, 60]; // turns a minute
const GLIDE_MS = 260;
const CALM_STEP_MS = 900; // one tooth at a time where reduced motion is asked for

const STYLE = `
:host{display:block;color:var(--ink);font-variant-numeric:tabular-nums lining-nums}
:host([hidden]){display:none}
.whole{display:grid;grid-template:"round flat" "keys keys" "count count"/minmax(0,1.12fr) minmax(0,1fr);
 gap:1rem 1.8rem;align-items:start}
.look{grid-area:round}.flat{grid-area:flat}.keys{grid-area:keys}.count{grid-area:count}
.round{position:relative;aspect-ratio:1;max-width:min(100%,80vh);margin:0 auto}
canvas{position:absolute;inset:0;width:100%;height:100%;display:block}
.grip{position:absolute;inset:3%;border-radius:50%;touch-action:none;cursor:grab}
.grip:active{cursor:grabbing}
.sheet{position:relative;touch-action:pan-y;cursor:ew-resize}
:focus-visible{outline:3px solid var(--lobe-mark);outline-offset:2px}
.grip:focus-visible{outline:2px dashed var(--ink)}
dl{margin:0;display:grid;grid-template-columns:repeat(auto-fit,minmax(9.5rem,1fr));gap:0 1.4rem}
dl div{border-top:3px solid;padding:.4rem 0 .7rem}
dt,dd{margin:0;color:var(--ink)}
dd{font-size:1.45rem;line-height:1.25;white-space:nowrap}
small{display:block;color:var(--quiet);font-size:.82rem;line-height:1.3}
dd small{font-size:.82rem}
.ratio{font-size:1.15rem;margin:.3rem 0 .1rem;font-weight:600}
.quiet{color:var(--quiet);font-size:.9rem;line-height:1.45;margin:.2rem 0 0;max-width:75ch}
.keys{display:flex;flex-wrap:wrap;gap:.5rem 1.1rem;align-items:center;padding:.6rem 0;border-block:1px solid var(--rule)}
.keys>*{flex:1 1 auto}
button{font:inherit;color:inherit;background:var(--panel);border:1px solid var(--quiet);border-radius:1.4rem;
 min-height:2.75rem;padding:.3rem 1rem;cursor:pointer;line-height:1.15}
button:hover{border-color:var(--ink)}
button.main{background:var(--ink);color:var(--paper);border-color:var(--ink);font-weight:600;min-width:6rem}
label,fieldset{display:flex;align-items:center;gap:.2rem .7rem;margin:0;padding:0;border:0;min-width:0}
fieldset{flex-wrap:wrap}
legend{float:left;padding:0;color:var(--quiet)}
.pace>span,.load>span{color:var(--quiet)}
.forces{margin:.2rem 0 .1rem;max-width:75ch;line-height:1.45}
.pick{gap:.35rem;min-height:2.75rem}
input{accent-color:var(--ink);margin:0}
input[type=radio]{width:1.15rem;height:1.15rem}
input[type=range]{flex:1;min-width:6rem;height:2.75rem}
output{min-width:6.6rem;text-align:right}
.sign{display:flex;flex-wrap:wrap;justify-content:center;gap:.2rem 1.3rem;color:var(--quiet);font-size:.9rem;margin:.3rem 0 0;
 padding:0;list-style:none}
.sign li{display:flex;gap:.45rem;align-items:center}
.sign svg{flex:none}
details{margin-top:.9rem;color:var(--quiet);font-size:.9rem}
summary{cursor:pointer;min-height:1.8rem}
details p{margin:.2rem 0;max-width:75ch;line-height:1.6}
kbd{font:inherit;border:1px solid var(--rule);border-radius:.2rem;padding:0 .3em;color:var(--ink)}
@media (max-width:46rem){.keys{display:grid;grid-template-columns:repeat(6,1fr)}.keys>*{grid-column:1/-1}
 .keys>button{grid-column:span 2;padding:.3rem}.keys>.half{grid-column:span 3}.whole{grid-template:"round" "keys" "count" "flat"/minmax(0,1fr)}}
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
  <fieldset data-pick="seen"><legend>Seen from</legend></fieldset>
  <fieldset data-pick="front"><legend>In front</legend></fieldset>
 </div>
 <div class="count"><dl></dl><p class="ratio"></p><p class="forces"></p><p class="quiet rule"></p>
  <details><summary>By hand and by key</summary>
   <p>Drag round the middle to turn, or drag the unrolled picture sideways. With the round picture in focus:
   <kbd>←</kbd> <kbd>→</kbd> one tooth, <kbd>Page Up</kbd> <kbd>Page Down</kbd> a quarter turn, <kbd>Space</kbd> play or stop,
   <kbd>+</kbd> <kbd>−</kbd> speed, <kbd>Home</kbd> to the start.</p></details></div>
</div>`;

const Base = globalThis.HTMLElement ?? class {};

/** `<lobewright-moving source="id">`: data from a JSON script of that id, or from the property `data`. */
export class Moving extends Base {
  constructor() {
    super();
    this.root = this.attachShadow({ mode: "open" });
    this.calm = matchMedia("(prefers-reduced-motion: reduce)");
    this.dark = matchMedia("(prefers-color-scheme: dark)");
    this.repaint = () => this.ask();
    this.watch = new ResizeObserver(this.repaint);
  }

  connectedCallback() {
    this.dark.addEventListener("change", this.repaint);
    const source = this.getAttribute("source");
    if (source && !this.parts) this.data = JSON.parse(document.getElementById(source).textContent);
    else if (this.parts) this.observe();
  }

  disconnectedCallback() {
    this.playing = false;
    this.watch.disconnect();
    this.dark.removeEventListener("change", this.repaint);
  }

  observe() {
    this.watch.observe(this.at.round);
    this.watch.observe(this.at.sheet);
  }

  set data({ parameters, palette }) {
    this.palette = palette;
    this.parts = prepare(parameters);
    Object.assign(this, { turned: 0, playing: false, way: 1, speed: 3, seen: "held", front: 0, glide: null });
    this.cases = loadCases(parameters);
    this.load = this.cases[this.cases.length - 1];
    this.build();
    this.observe();
    this.ask();
  }

  /** Other parameters of a drive, shown where the picture stands; only another set of members begins anew. */
  show({ parameters, palette }) {
    const members = (one) => JSON.stringify([one.rings.map((ring) => ring.name), one.roles, one.loads?.cases.length]);
    if (!this.parts || members(this.parts.parameters) !== members(parameters)) {
      const { turned = 0 } = this;
      this.data = { parameters, palette: palette ?? this.palette };
      this.turned = turned;
      return;
    }
    this.parts = prepare(parameters);
    this.cases = loadCases(parameters);
    this.words((what) => this.root.querySelector(what));
    this.ask();
  }

  /** The picture's angle in rad: the generator's, or that of the driven member's turn count when the generator is held. */
  get angle() {
    return this.turned;
  }

  set angle(angle) {
    this.turned = angle;
    this.ask();
  }

  build() {
    const rules = (theme) => Object.entries(this.palette[theme])
      .map(([role, colour]) => `--${role.replaceAll("_", "-")}:${colour}`).join(";");
    const sheet = new CSSStyleSheet();
    sheet.replaceSync(`:host{${rules("light")}}@media (prefers-color-scheme:dark){:host{${rules("dark")}}}${STYLE}`);
    this.root.adoptedStyleSheets = [sheet];
    this.root.innerHTML = FRAME;
    const find = (what) => this.root.querySelector(what);
    this.at = {
      grip: find(".grip"), sheet: find(".sheet"), round: find(".round"), play: find("[data-do=play]"),
      range: find(".pace input"), pace: find(".pace output"), forces: find(".forces"),
      loadRange: find(".load input"), loadWords: find(".load output"),
      drive: new Painter(find("[part=drive]")), unrolled: new Painter(find("[part=unrolled]")), cells: [],
    };
    this.words(find);
    this.choices();
    this.listen();
    this.setSpeed(this.speed);
    if (this.cases.length > 1) this.setLoad(this.load);
    const wheels = this.parts.parameters.loads?.cases[0].rings[0].wheels_n.length > 0;
    const idle = this.cases.length < 2 ? ".load, .forces, .push" : wheels ? "" : ".wheels";
    if (idle) this.root.querySelectorAll(idle).forEach((part) => part.remove());
  }

  /** Every name from the data goes in as text, never as markup. */
  words(find) {
    const { parameters, rings, rows } = this.parts;
    const { roles } = parameters;
    const part = (member) => ["held", "driven", "read"].filter((role) => roles[role] === member)
      .map((role) => ({ held: "held", driven: "driven", read: "output" }[role])).join(", ") || "free to turn";
    const members = [
      ["generator", "generator", ""], ["flexible", "flexible", [...new Set(rows.map((row) => row.teeth))].join(" / ")],
      ...rings.map((ring, index) => [ring.name, ringRole(index), ring.teeth]),
    ];
    this.at.cells = [];
    find("dl").replaceChildren();
    for (const [member, colour, teeth] of members) {
      const [cell, name, value] = ["div", "dt", "dd"].map((tag) => document.createElement(tag));
      cell.style.borderColor = `var(--${colour.replace("_", "-")})`;
      name.append(memberName(parameters, member), small(teeth ? `${part(member)}, ${teeth} teeth` : part(member)));
      value.dataset.member = member;
      cell.append(name, value);
      this.at.cells.push([value, turnsOf(parameters, member)]);
      find("dl").append(cell);
    }
    find(".ratio").textContent = `Ratio ${parameters.ratio_text}`;
    find(".rule").textContent = this.ruleText();
    find(".way").textContent = `turned by the output, ${memberName(parameters, roles.read)}`;
    const read = members.find(([member]) => member === roles.read)[1];
    find(".trail").style.stroke = `var(--${read.replace("_", "-")})`;
    this.at.grip.setAttribute("aria-label", `Turn: ${memberName(parameters, leading(parameters))}`);
    const equal = rings.filter((ring) => ring.teeth === rows[ring.row].teeth);
    find(".note").textContent = `The same drive unrolled over one turn, heights drawn ${stretch(this.parts)} times. `
      + "A bar stands where the racks line up within a tenth of a tooth pitch: solid where the teeth are in mesh, open "
      + "where they are apart. The bars run with the lobes"
      + (equal.length ? `. ${equal.map((ring) => ring.name).join(" and ")} has as many teeth as its row, so each tooth only rocks in its own space.` : ".");
  }

  choices() {
    const { parameters, rings } = this.parts;
    this.picks("seen", [["held", memberName(parameters, parameters.roles.held)],
      ...(parameters.turns.generator === 0 ? [] : [["generator", memberName(parameters, "generator")]])]);
    this.picks("front", rings.map((ring, index) => [index, ring.name]));
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
    if (choices.length < 2) {
      box.remove();
      return;
    }
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
  }

  listen() {
    const { grip, sheet, range } = this.at;
    const actions = {
      play: () => this.play(!this.playing),
      flip: () => { this.way = -this.way; },
      home: () => { this.play(false); this.glideTo(0); },
      back: () => this.step(-1),
      on: () => this.step(1),
    };
    this.root.querySelectorAll("[data-do]").forEach((button) => button.addEventListener("click", actions[button.dataset.do]));
    range.addEventListener("input", () => this.setSpeed(Number(range.value)));
    const { loadRange } = this.at;
    loadRange.addEventListener("input", () => this.setLoad(this.cases[Number(loadRange.value)]));
    const keys = {
      ArrowRight: actions.on, ArrowUp: actions.on, ArrowLeft: actions.back, ArrowDown: actions.back,
      PageUp: () => this.glideTo(this.goal() + this.lead(TURN / 4)), PageDown: () => this.glideTo(this.goal() - this.lead(TURN / 4)),
      " ": actions.play, Home: actions.home,
      "+": () => this.setSpeed(this.speed + 1), "-": () => this.setSpeed(this.speed - 1),
    };
    grip.addEventListener("keydown", (event) => {
      if (!(event.key in keys) || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      keys[event.key]();
    });
    this.drag(grip, (event) => {
      const box = grip.getBoundingClientRect();
      return -Math.atan2(event.clientY - box.top - box.height / 2, event.clientX - box.left - box.width / 2);
    });
    this.drag(sheet, (event) => ((event.clientX / sheet.clientWidth) * TURN) / this.pieces());
  }

  /** Drag turns the leading member by the change of `measure`, an angle. */
  drag(target, measure) {
    let last = null;
    target.addEventListener("pointerdown", (event) => {
      if (event.button > 0) return;
      this.play(false);
      this.glide = null;
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

  /** Picture angle for an angle of the leading member. */
  lead(angle) {
    const { parameters } = this.parts;
    return angle / turnsOf(parameters, leading(parameters));
  }

  pieces() {
    const teeth = Math.max(...this.parts.rows.map((row) => row.teeth));
    const { lobes } = this.parts.parameters.shape;
    return this.at.sheet.clientWidth / teeth < 6 ? lobes : 1;
  }

  setSpeed(speed) {
    this.speed = Math.min(SPEEDS.length - 1, Math.max(0, speed));
    this.at.range.value = this.speed;
    this.at.pace.textContent = `${SPEEDS[this.speed]} turns/min`;
    this.at.range.setAttribute("aria-valuetext", `${SPEEDS[this.speed]} turns a minute`);
  }

  /** Shows a load case (an index), or none (null). */
  setLoad(load) {
    const { loadRange, loadWords } = this.at;
    const words = torqueWords(this.parts.parameters, load);
    this.load = load;
    loadRange.max = this.cases.length - 1;
    loadRange.value = this.cases.indexOf(load);
    loadWords.textContent = words;
    loadRange.setAttribute("aria-valuetext", load === null ? words : `${words} on ${memberName(this.parts.parameters, this.parts.parameters.loads.member)}`);
    this.ask();
  }

  play(on) {
    this.playing = on;
    this.glide = null;
    this.before = null;
    this.at.play.textContent = on ? "Stop" : "Play";
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

  /** One frame, soon; many asks make one frame. */
  ask() {
    if (!this.parts || this.asked) return;
    this.asked = true;
    requestAnimationFrame((now) => {
      this.asked = false;
      if (!this.isConnected) return;
      this.move(now);
      this.draw();
      if (this.playing || this.glide) this.ask();
    });
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
    const { at, parts, turned, seen, front, load } = this;
    const colours = this.palette[this.dark.matches ? "dark" : "light"];
    const look = { density: window.devicePixelRatio || 1, colours, font: getComputedStyle(this).fontFamily };
    const size = at.round.clientWidth;
    at.drive.paint(driveScene(parts, turned, { seen, front, load }), { ...look, width: size, height: size });
    const width = at.sheet.clientWidth;
    if (width > 0) {
      const flat = unrolledScene(parts, turned, { seen, widthPx: width, pieces: this.pieces() });
      const height = Math.round((width * (flat.view[3] - flat.view[1])) / flat.view[2]);
      if (at.sheet.clientHeight !== height) at.sheet.style.height = `${height}px`;
      at.unrolled.paint(flat, { ...look, width, height });
      at.unrolled.canvas.setAttribute("aria-label", flat.description);
    }
    this.read();
  }

  read() {
    for (const [cell, turns] of this.at.cells) {
      const angle = turns * this.turned;
      const whole = Math.trunc(angle / TURN + Math.sign(angle) * 1e-9);
      const words = `${degrees(angle)}|${tidy(whole)} whole turn${Math.abs(whole) === 1 ? "" : "s"}`;
      if (cell.dataset.shown === words) continue;
      cell.dataset.shown = words;
      const [main, below] = words.split("|");
      cell.replaceChildren(main, small(below));
    }
    if (this.cases.length > 1) {
      const words = forceWords(this.parts.parameters, this.front, this.load);
      if (this.at.forces.textContent !== words) this.at.forces.textContent = words;
    }
    const { grip } = this.at;
    const { parameters } = this.parts;
    const led = wrap(turnsOf(parameters, leading(parameters)) * this.turned, TURN);
    grip.setAttribute("aria-valuenow", ((led * 360) / TURN).toFixed(1));
    grip.setAttribute("aria-valuetext", spoken(this.parts, this.turned));
  }
}

function small(words) {
  return Object.assign(document.createElement("small"), { textContent: words });
}

/** A number without needless places, with a true minus sign. */
function tidy(number) {
  return String(Number(number.toFixed(3))).replace("-", "−");
}

globalThis.customElements?.define("lobewright-moving", Moving);

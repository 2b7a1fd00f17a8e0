// Plain `node --test tests/js`: the pure parts of the page module against the vectors that Python keeps.
// The module is loaded through a data URL, as an inline module is: by its text alone, that of what it imports before it.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

const here = (name) => new URL(name, import.meta.url);
const text = (name) => readFileSync(here(`../../src/lobewright/picture/${name}`), "utf8");
const source = text("moving.js").replace(/^import \{[^}]*\} from "\.\/(\w+\.js)";\n/gm, (_, name) => text(name));
const moving = await import(`data:text/javascript;base64,${Buffer.from(source).toString("base64")}`);
const vectors = JSON.parse(readFileSync(here("vectors.json"), "utf8"));
const { parameters } = vectors;
const parts = moving.prepare(parameters);
const TURN = 2 * Math.PI;

function near(found, expected, within = 1e-9) {
  assert.ok(Math.abs(found - expected) <= within, `${found} is not ${expected} within ${within}`);
}

/** Every primitive of a display list, groups opened. */
function* all(items) {
  for (const item of items) {
    yield item;
    if (item.kind === "group") yield* all(item.items);
  }
}

test("pose agrees with Python on the kept vectors", () => {
  assert.ok(vectors.poses.length >= 5);
  for (const row of vectors.poses) {
    const found = moving.pose(parameters, row.angle_rad);
    near(found.generator_rad, row.generator_rad);
    near(found.flexible_rad, row.flexible_rad);
    near(found.shift_rad, row.shift_rad);
    row.rings_rad.forEach((angle, index) => near(found.rings_rad[index], angle));
    assert.equal(found.teeth[0].length, parameters.rows[0].teeth);
    vectors.teeth_shown.forEach((tooth, index) => {
      const [x, y, normal] = found.teeth[0][tooth];
      near(x, row.teeth[index][0]);
      near(y, row.teeth[index][1]);
      near(moving.unwrap(normal, row.teeth[index][2]), row.teeth[index][2]);
    });
  }
});

test("places where the racks line up agree with Python", () => {
  vectors.line_up.forEach((states, index) => assert.deepEqual(moving.lineUp(parameters, index), states));
});

test("one tooth step moves every tooth to its neighbour's place", () => {
  const before = moving.pose(parameters, 0.7).teeth[0];
  const after = moving.pose(parameters, 0.7 + moving.toothStep(parameters, 0)).teeth[0];
  const count = before.length;
  for (let k = 0; k < count; k += 1) {
    // The generator goes forward, so the material goes back along the line.
    const [x, y] = before[(k + count - 1) % count];
    near(after[k][0], x, 1e-7);
    near(after[k][1], y, 1e-7);
  }
});

test("unwrap and wrap", () => {
  near(moving.unwrap(0.1, 3 * TURN), 3 * TURN + 0.1);
  near(moving.unwrap(-3.1, 3.1), TURN - 3.1);
  near(moving.wrap(-0.25, 1), 0.75);
});

test("runs join over the seam of the closed line", () => {
  const runs = moving.runsOf([2, 0, 0, 1, 2, 2]);
  assert.deepEqual(runs.map((run) => run.state), [1, 2]);
  near(runs[1].from, (3.5 / 6) * TURN);
  near(runs[1].to, (6.5 / 6) * TURN);
  assert.deepEqual(moving.runsOf([0, 0]), []);
});

test("thinning keeps every point within the slack", () => {
  const points = [];
  for (let k = 0; k <= 200; k += 1) points.push(k / 20, Math.sin(k / 20));
  const kept = moving.thin(points, 0.01);
  assert.ok(kept.length < points.length / 3);
  for (let k = 0; k < points.length; k += 2) {
    let after = 0;
    while (kept[after] < points[k]) after += 2;
    const before = Math.max(0, after - 2);
    const part = after === before ? 0 : (points[k] - kept[before]) / (kept[after] - kept[before]);
    near(kept[before + 1] + part * (kept[after + 1] - kept[before + 1]), points[k + 1], 0.015);
  }
});

test("degrees have one place, a true minus and no minus zero", () => {
  assert.equal(moving.degrees(-TURN / 50), "−7.2°");
  assert.equal(moving.degrees(-1e-6), "0.0°");
});

test("an outline given the other way round makes the same drive", () => {
  const turned = (flat) => Array.from({ length: flat.length / 2 }, (_, k) => flat.slice(flat.length - 2 * k - 2, flat.length - 2 * k)).flat();
  const other = structuredClone(parameters);
  other.rows[0].outline_mm = turned(other.rows[0].outline_mm);
  other.rings[0].outline_mm = turned(other.rings[0].outline_mm);
  const [a, b] = [parts, moving.prepare(other)].map((made) => moving.driveScene(made, 1.1));
  assert.deepEqual(a, b);
});

test("the drive scene turns each member by its own angle", () => {
  const angle = 3.3;
  const scene = moving.driveScene(parts, angle, { front: 1 });
  const turns = scene.items.filter((item) => item.kind === "group").map((item) => item.placements[0][2]);
  // dial on the held ring, trail from 0, ring behind, ring in front, generator with flexible ring
  [0, 0, 0, -0.02 * angle, angle].forEach((expected, k) => near(turns[k], expected));
  const seen = moving.driveScene(parts, angle, { front: 1, seen: "generator" });
  const ridden = seen.items.filter((item) => item.kind === "group").map((item) => item.placements[0][2]);
  ridden.forEach((turn, k) => near(turn, turns[k] - angle));
});

test("flexible teeth stay inside the ring's spaces in the drive scene", () => {
  // Radius over angle of the ring's edge is single-valued, so a tooth corner is inside when its radius is smaller.
  for (const angle of [0, 0.9, 5.1, -33.3]) {
    const at = moving.pose(parameters, angle);
    parameters.rings.forEach((ring, index) => {
      const edge = ring.outline_mm;
      const pitch = TURN / ring.teeth;
      for (const [x, y, normal] of at.teeth[0]) {
        for (const [u, v] of [[-0.36, 1], [0.36, 1], [-0.62, 0.25], [0.62, 0.25]]) {
          const [px, py] = [x - Math.sin(normal) * u + Math.cos(normal) * v, y + Math.cos(normal) * u + Math.sin(normal) * v];
          const polar = Math.atan2(py, px) + at.generator_rad - at.rings_rad[index];
          const local = polar - pitch * Math.round(polar / pitch);
          const place = Math.round(((local / pitch + 0.5) * (edge.length / 2 - 1)));
          const limit = Math.hypot(edge[2 * place], edge[2 * place + 1]);
          assert.ok(Math.hypot(px, py) < limit, `tooth corner at ${Math.hypot(px, py)} beyond ${limit} in ${ring.name}`);
        }
      }
    });
  }
});

test("the unrolled picture carries the marked tooth and the marked lobe at their angles", () => {
  const angle = 2.0;
  const at = moving.pose(parameters, angle);
  const scene = moving.unrolledScene(parts, angle, { widthPx: 900 });
  const strip = scene.items.find((item) => item.kind === "group");
  const radius = parameters.shape.radius_mm;
  const begin = -Math.PI / 2;
  const shift = strip.placements[0][0];
  const at_role = (role) => strip.items.filter((group) => group.items.some((item) => item.fill === role));
  const flexible = at_role("tooth_mark")[0];
  const tooth = flexible.items.find((item) => item.fill === "tooth_mark").loops[0];
  const middle = (tooth[0] + tooth[tooth.length - 2]) / 2 + flexible.placements[0][0] + shift;
  const [x, y] = at.teeth[0][0];
  const fixed = moving.wrap(Math.atan2(y, x) + at.generator_rad - begin, TURN);
  near(moving.wrap(middle / radius, TURN), fixed, 2e-3);
  const lobes = at_role("lobe_mark")[0].placements.map(([across]) => (across + shift) / radius);
  assert.ok(lobes.some((place) => Math.abs(place - (angle - begin)) < 1e-9), String(lobes));
});

test("unrolled racks cover their strip from end to end at any angle", () => {
  for (const pieces of [1, 2]) {
    for (const angle of [0, 17.77, -900.1]) {
      const scene = moving.unrolledScene(parts, angle, { widthPx: 400, pieces });
      const strips = scene.items.filter((item) => item.kind === "group");
      assert.equal(strips.length, 2 * pieces);
      for (const strip of strips) {
        for (const role of ["ring_a_soft", "ring_b_soft", "flexible_soft"]) {
          const group = strip.items.find((inner) => inner.items.some((item) => item.fill === role));
          if (!group) continue;
          const loop = group.items.find((item) => item.fill === role).loops[0].filter((_, k) => k % 2 === 0);
          const by = group.placements[0][0] + strip.placements[0][0];
          assert.ok(Math.min(...loop) + by <= strip.clip[0] && Math.max(...loop) + by >= strip.clip[2]);
        }
      }
    }
  }
});

test("scenes are pure: the same angle gives the same list, whatever came between", () => {
  const scenes = () => [moving.driveScene(parts, 4.2), moving.unrolledScene(parts, 4.2)];
  const first = JSON.stringify(scenes());
  moving.driveScene(parts, -7);
  moving.unrolledScene(parts, 9, { widthPx: 300, pieces: 2 });
  assert.equal(JSON.stringify(scenes()), first);
});

test("only the six primitives are used, with finite numbers", () => {
  const kinds = new Set();
  for (const scene of [moving.driveScene(parts, 1), moving.unrolledScene(parts, 1)]) {
    for (const item of all(scene.items)) kinds.add(item.kind);
    assert.ok(!JSON.stringify(scene).includes("null,"), "a number that is not finite becomes null in JSON");
  }
  for (const kind of kinds) assert.ok(["path", "disc", "ring_arc", "text", "arrow", "group"].includes(kind), kind);
});

test("a held generator is led by the driven member", () => {
  const held = structuredClone(parameters);
  held.turns = { generator: 0, flexible: 1, rings: [100 / 102, 1] };
  held.roles = { held: "generator", driven: held.rings[1].name, read: held.rings[0].name };
  assert.equal(moving.leading(held), held.rings[1].name);
  near(moving.toothStep(held, 0), TURN / 100);
  assert.match(moving.spoken(moving.prepare(held), TURN / 4), /^Output ring at 90\.0°, Fixed ring at 88\.2°/);
});

// ---- contact forces -------------------------------------------------------------------------------------------

const loaded = { ...parameters, loads: vectors.loads };
const loadedParts = moving.prepare(loaded);
const isLeaf = (item) => item.kind === "path" && item.fill === "ink" && item.loops[0].length === 8;

test("pushes agree with Python on the kept vectors", () => {
  assert.ok(vectors.pushes.length >= 10);
  for (const row of vectors.pushes) {
    const found = moving.pushesAt(loaded, row.case, row.ring, moving.pose(loaded, row.angle_rad));
    vectors.teeth_shown.forEach((tooth, index) => found[tooth].forEach((number, k) => near(number, row.pushes[index][k], 1e-8)));
    near(found.reduce((sum, [, , x, y]) => sum + Math.hypot(x, y), 0), row.total_n, 1e-7);
  }
});

test("leaves are as long as the bar says, and the largest force of all cases is the longest", () => {
  const angle = 0.8;
  const most = [];
  loaded.loads.cases.forEach((_, load) => {
    const scene = moving.driveScene(loadedParts, angle, { load });
    const found = [...all(scene.items)];
    const words = found.filter((item) => item.kind === "text").map((item) => item.text);
    assert.equal(words.length, 1);
    const newtons = Number(words[0].replace(" N", ""));
    const bar = found.find((item) => item.kind === "path" && item.line_px === 3 && item.line === "ink").loops[0];
    const perNewton = Math.abs(bar[2] - bar[0]) / newtons;
    const lengths = found.filter(isLeaf).map(({ loops: [[x, y, , , u, v]] }) => Math.hypot(u - x, v - y));
    const sizes = moving.pushesAt(loaded, load, 0, moving.pose(loaded, angle)).map(([, , x, y]) => Math.hypot(x, y));
    const shown = sizes.filter((size) => size > 0.01 * Math.max(...sizes));
    assert.equal(lengths.length, shown.length);
    near(lengths.reduce((a, b) => a + b, 0), perNewton * shown.reduce((a, b) => a + b, 0), 1e-6);
    const arrows = found.filter((item) => item.kind === "arrow" && item.colour === "generator");
    assert.equal(arrows.length, 2);
    const [fx, fy] = loaded.loads.cases[load].rings[0].wheels_n;
    near(arrows[0].head[0] - arrows[0].tail[0], perNewton * fx, 1e-9);
    near(arrows[0].head[1] - arrows[0].tail[1], perNewton * fy, 1e-9);
    most.push(Math.max(...lengths, ...arrows.map(({ head, tail }) => Math.hypot(head[0] - tail[0], head[1] - tail[1]))));
  });
  assert.ok(most[2] > 1.5 * most[1] && most[0] > 0);
});

test("the pattern of forces turns with the generator and stays while teeth pass", () => {
  const angle = 0.3;
  const step = moving.toothStep(loaded, 0);
  const of = (turned) => [...all(moving.driveScene(loadedParts, turned, { load: 0, seen: "generator" }).items)]
    .filter(isLeaf).map((item) => item.loops[0].map((number) => number.toFixed(6)).join()).sort();
  assert.deepEqual(of(angle + step), of(angle));
  assert.notDeepEqual(of(angle + 0.5 * step), of(angle));
});

test("without loads nothing of them is drawn, and no load is the one without torque", () => {
  assert.deepEqual(moving.driveScene(loadedParts, 1.1), moving.driveScene(parts, 1.1));
  assert.deepEqual(moving.loadCases(parameters), [null]);
  assert.deepEqual(moving.loadCases(loaded), [0, null, 1, 2]);
  assert.equal(parts.force, null);
});

test("forces in words have three figures and the sense of the torque", () => {
  assert.equal(moving.torqueWords(loaded, 2), "2.00 N·m");
  assert.equal(moving.torqueWords(loaded, 0), "−1.00 N·m");
  assert.equal(moving.torqueWords(loaded, null), "no torque");
  assert.match(moving.forceWords(loaded, 0, 0), /^At −1\.00 N·m on Output ring \(clockwise\) \d+ teeth push on Fixed ring/);
  assert.equal(moving.three(9.996), "10.0");
  assert.equal(moving.three(0.01234), "0.0123");
  assert.equal(moving.three(2877.8), "2878");
  assert.equal(moving.niceStep(9.9), 5);
});

// ---- gaps, close up -------------------------------------------------------------------------------------------

const sized = (size) => ({
  ...parameters,
  shape: { ...parameters.shape, x_mm: parameters.shape.x_mm.map((x) => x * size), y_mm: parameters.shape.y_mm.map((y) => y * size) },
});

test("gaps and overlaps agree with Python on the kept vectors", () => {
  assert.ok(vectors.gaps.filter((row) => row.smallest_mm < 0).length >= 8);
  assert.ok(vectors.gaps.filter((row) => row.smallest_mm > 0).length >= 8);
  for (const row of vectors.gaps) {
    const drive = sized(row.size);
    const at = moving.pose(drive, row.angle_rad);
    const found = moving.toothGaps(moving.meshOf(drive, 0), at, row.ring, row.tooth);
    row.points_mm.forEach((gap, k) => near(found.gaps[k], gap, 1e-8));
    near(found.least.gap, row.smallest_mm, 1e-8);
    const fine = moving.toothGaps(moving.meshOf(drive), at, row.ring, row.tooth, { step: 0.01 });
    assert.ok(fine.least.gap <= row.smallest_mm + 2e-4);
    assert.ok(fine.least.gap >= row.smallest_mm - 2e-4 - (row.smallest_mm < 0 ? 0.02 : 0));
    // What is told only up to a reach, or only in part of the plane, is the same there.
    const near_ = moving.toothGaps(moving.meshOf(drive, 0), at, row.ring, row.tooth, { reach: 0.1 });
    near(near_.least.gap, row.smallest_mm, 1e-8);
    row.points_mm.forEach((gap, k) => near_.gaps[k] === Infinity ? assert.ok(gap >= 0.1) : near(near_.gaps[k], gap, 1e-8));
  }
});

test("the foot of a gap lies on the ring and as far away as the gap says", () => {
  const at = moving.pose(parameters, 0.3);
  const mesh = moving.meshOf(parameters, 0);
  const { points, feet, gaps } = moving.toothGaps(mesh, at, 0, 0, { step: 0.05 });
  assert.ok(gaps.length > 40);
  gaps.forEach((gap, k) => near(Math.hypot(points[2 * k] - feet[2 * k], points[2 * k + 1] - feet[2 * k + 1]), Math.abs(gap)));
});

test("the gap at a place is that of the nearest place of a tooth", () => {
  const at = moving.pose(parameters, 0.3);
  const mesh = moving.meshOf(parameters, 0);
  const teeth = [0, 1].map((tooth) => moving.toothGaps(mesh, at, 0, tooth, { step: 0.05 }));
  const { turn, points, gaps } = teeth[1];
  const [c, s] = [Math.cos(turn), Math.sin(turn)];
  for (const k of [8, 20, 33]) {
    const [x, y] = [points[2 * k], points[2 * k + 1]];
    near(moving.gapNear(mesh, 0, teeth, c * x - s * y, s * x + c * y).gap, gaps[k], 1e-7);
  }
  assert.equal(moving.gapNear(mesh, 0, [], 0, 0), null);
});

test("classes of gaps are round, rise, and differ in hatch where they share a colour", () => {
  const classes = moving.gapClasses(parameters); // 2 mm pitch
  assert.deepEqual(classes.map((one) => Math.round(one.below * 1000)), [-20, 0, 20, 40, 100, 200]);
  const looks = classes.map((one) => `${one.every} ${one.crossed}`);
  assert.equal(new Set(looks).size, classes.length);
  assert.equal(moving.microns(0.01234), "12 µm");
  assert.equal(moving.microns(0.00234), "2.3 µm");
  assert.equal(moving.microns(-0.0204), "overlap 20 µm");
});

const look = (more) => ({ spot: "tooth", place_rad: 0, out_mm: 0, width_mm: 6, ...more });

test("the close picture keeps the marked tooth upright in its middle and tells its smallest gap", () => {
  for (const angle of [0, 0.3, 5.1, -33.3]) {
    const { picture, told } = moving.closeScene(parts, angle, { look: look() });
    const tooth = picture.items.find((item) => item.fill === "tooth_mark").loops[0];
    near(tooth[0] + tooth[tooth.length - 2], 0, 1e-9);
    assert.ok(told.least !== null);
    const at = moving.pose(parameters, angle);
    const whole = Math.min(...[98, 99, 0, 1, 2].map((k) => moving.toothGaps(moving.meshOf(parameters), at, 0, k).least.gap));
    assert.ok(told.least >= whole - 5e-3, `${told.least} in view, ${whole} in all`);
    assert.match(picture.description, /^Smallest gap in view: (overlap )?[\d.]+ µm$/);
  }
});

test("the smallest gap told is that of everything in the picture's rectangle and of nothing else", () => {
  const mesh = moving.meshOf(parameters);
  for (const [spot, width, tall, angle] of [["tooth", 12, 0.2, 0.3], [1, 7, 0.05, 2.2], ["tooth", 1.3, 0.4, 0.1], [0, 25, 0.1, 4]]) {
    const { told } = moving.closeScene(parts, angle, { look: look({ spot, width_mm: width }), tall, widthPx: 300 });
    const at = moving.pose(parameters, angle);
    const sees = (turn) => (x, y) => {
      const far = Math.hypot(x, y);
      const polar = Math.atan2(y, x) + turn + at.generator_rad;
      const [dx, dy] = [far * Math.cos(polar) - told.centre[0], far * Math.sin(polar) - told.centre[1]];
      const out = dx * Math.cos(told.up) + dy * Math.sin(told.up);
      const across = dy * Math.cos(told.up) - dx * Math.sin(told.up);
      return Math.abs(across) <= width / 2 && Math.abs(out) <= (width * tall) / 2;
    };
    const every = Array.from({ length: 100 }, (_, k) => moving.toothGaps(mesh, at, 0, k, { step: (4 * width) / 300, sees }).least.gap);
    near(told.least, Math.min(...every), 1e-9);
  }
});

test("only what is in view is told", () => {
  const narrow = moving.closeScene(parts, 0.3, { look: look({ width_mm: 0.3 }), tall: 0.75 });
  const wide = moving.closeScene(parts, 0.3, { look: look({ width_mm: 12 }) });
  assert.ok(wide.told.least <= (narrow.told.least ?? Infinity));
  const away = moving.closeScene(parts, 0.3, { look: look({ spot: "place", place_rad: 1, out_mm: 3, width_mm: 0.3 }) });
  assert.equal(away.told.least, null);
  assert.equal(away.told.cross, null);
});

test("at a lobe the shape stands still, at a place the held ring", () => {
  const step = moving.toothStep(parameters, 0);
  const of = (angle, more) => moving.closeScene(parts, angle, { look: look(more) });
  const at = (angle, spot) => of(angle, { spot }).told.least;
  near(at(0.2, 0), at(0.2 + 2 * step, 0), 1e-6); // 100 teeth, 102 spaces: the mesh repeats at the lobe tooth by tooth
  const ring = (angle) => of(angle, { spot: "place", place_rad: 0.5 }).picture.items.find((item) => item.fill === "ring_a_soft").loops;
  assert.deepEqual(ring(0.2), ring(1.1));
  assert.notDeepEqual(of(0.2, { spot: 0 }).told.centre, of(1.1, { spot: 0 }).told.centre);
});

test("a deflection drawn larger moves points away from the round line in that proportion", () => {
  const drawn = moving.magnified(parameters, 4);
  const { shape } = parameters;
  [0, 17, 96, 300].forEach((k) => {
    const angle = (TURN * k) / shape.x_mm.length;
    const [rx, ry] = [shape.radius_mm * Math.cos(angle), shape.radius_mm * Math.sin(angle)];
    near(drawn.shape.x_mm[k] - rx, 4 * (shape.x_mm[k] - rx), 1e-9);
    near(drawn.shape.y_mm[k] - ry, 4 * (shape.y_mm[k] - ry), 1e-9);
  });
  assert.equal(moving.magnified(parameters, 1), parameters);
  // The generator still stands as far inside the line at its lobes.
  near(drawn.shape.x_mm[0] - drawn.wheels[0].x_mm, shape.x_mm[0] - parameters.wheels[0].x_mm, 1e-9);
});

test("what is not true geometry says so and tells no gap", () => {
  const drawn = moving.prepare(moving.magnified(parameters, 4));
  const { picture, told } = moving.closeScene(drawn, 0.3, { look: look() });
  assert.equal(told.least, null);
  assert.ok(!JSON.stringify(picture).includes("µm"));
  for (const scene of [picture, moving.driveScene(drawn, 0.3)]) {
    const words = [...all(scene.items)].filter((item) => item.kind === "text").map((item) => item.text).join(": ");
    assert.match(words, /Deflection drawn 4 times: not true geometry/);
    assert.match(scene.description, /not true geometry/);
  }
  const words = [...all(moving.driveScene(parts, 0.3).items)].filter((item) => item.kind === "text");
  assert.equal(words.length, 0);
});

// ---- stress ---------------------------------------------------------------------------------------------------

const wave = (size, angle) => parameters.shape.x_mm.map((_, k) => size * Math.cos((2 * TURN * k) / 384 - angle));
const stress = { what: "Bending", unit: "MPa", cases: [{ torque_nm: 0, values: wave(20, 0) }, { torque_nm: 2, values: wave(33, 1) }] };

test("stress is that of the chosen torque, the largest is marked where it is", () => {
  const given = { ...loaded, stress };
  assert.equal(moving.stressAt(given, 2).most, Math.max(...stress.cases[1].values));
  near(moving.stressAt(given, 2).turn_rad, 0.5, 0.02);
  assert.equal(moving.stressAt(given, null).most, 20);
  assert.equal(moving.stressAt(given, 1), null);
  assert.equal(moving.stressAt(loaded, 2), null);
  assert.equal(moving.stressStep(given), 10);
  assert.match(moving.stressWords(given, 1), /not known at 1\.00 N·m/);
  const made = moving.prepare(given);
  const fills = (load) => new Set([...all(moving.driveScene(made, 0.4, { load }).items)].map((item) => item.fill).filter((fill) => /^level/.test(fill)));
  assert.deepEqual([...fills(2)].sort(), ["level_1", "level_2", "level_3", "level_4"]);
  assert.deepEqual([...fills(null)].sort(), ["level_1", "level_2", "level_3"]); // 20 of steps of 10: the top level is not reached
  assert.equal(fills(1).size, 0);
});

test("stress without loads has torques of its own to choose from", () => {
  const given = { ...parameters, stress };
  assert.deepEqual(moving.loadCases(given), [0, 1]);
  assert.equal(moving.torqueWords(given, 0), "no torque");
  assert.equal(moving.nearestCase(given, 1.6), 1);
  assert.equal(moving.nearestCase(given, 0.1), 1); // a torque does not become none
  assert.equal(moving.nearestCase(given, 0), 0);
  assert.doesNotThrow(() => moving.driveScene(moving.prepare(given), 1, { load: 1 }));
});

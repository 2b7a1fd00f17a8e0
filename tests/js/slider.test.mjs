// A slider's window: the value lies on its grid, its ends inside what is allowed.
import assert from "node:assert/strict";
import test from "node:test";
import { Slider, reachOf } from "../../src/lobewright/web/pages/slider.js";

const open = { low: null, high: null, type: "number", open_low: false, open_high: false, unit: "mm" };
const near = (one, other) => Math.abs(one - other) < 1e-9 * Math.max(1, Math.abs(other));

test("the value stands on the grid and inside, the ends inside what is allowed", () => {
  for (const value of [0, 0.001, 0.05, 0.12, 1, 7, 15.5, 25, 39.498, 2000, 1e5]) {
    for (const [low, high] of [[null, null], [0, null], [0, value], [value, value + 1], [value - 0.01, value + 0.01]]) {
      for (const ends of [{}, { open_low: low !== value, open_high: high !== value }]) {
        const { step, min, max } = reachOf(value, { ...open, low, high, ...ends });
        assert.ok(step > 0 && min <= value && value <= max, `${value} in ${min} to ${max}`);
        assert.ok(near(Math.round((value - min) / step) * step, value - min));
        if (low !== null) assert.ok(ends.open_low ? min > low || low === value : min >= low - 1e-9, `${min} above ${low}`);
        if (high !== null) assert.ok(ends.open_high ? max < high || high === value : max <= high + 1e-9, `${max} below ${high}`);
      }
    }
  }
});

test("an end that is not allowed itself is not reached", () => {
  const { min } = reachOf(0.05, { ...open, low: 0, open_low: true });
  assert.ok(min > 0);
});

test("counts move by one, small lengths by more than a share of themselves", () => {
  assert.deepEqual(reachOf(100, { ...open, low: 16, high: 600, type: "whole", unit: "teeth" }), { step: 1, min: 80, max: 120 });
  const { min, max } = reachOf(0.05, { ...open, low: 0 });
  assert.ok(min === 0 && max >= 0.149);
});

class Range extends EventTarget {
  said = {};
  setAttribute(name, value) { this.said[name] = value; }
  append() {}
  get valueAsNumber() { return Number(this.value); }
}

test("where it stands is said anew at each step, also while what is shown waits", () => {
  globalThis.document = { createElement: () => new Range() };
  const moves = [];
  const slider = new Slider("wall", "Move wall", { moved: (value) => moves.push(value), kept() {} });
  const words = (value) => `${value} mm`;
  slider.show(1.2, { ...open, low: 0 }, words);
  assert.equal(slider.root.said["aria-valuetext"], "1.2 mm");
  slider.root.dispatchEvent(new Event("keydown"));
  slider.root.value = 1.25;
  slider.root.dispatchEvent(new Event("input"));
  slider.show(1.2, { ...open, low: 0 }, words);
  assert.equal(slider.root.said["aria-valuetext"], "1.25 mm");
  assert.deepEqual(moves, [1.25]);
});

test("a number that is 0 can be moved away from it", () => {
  const { min, max } = reachOf(0, { ...open, low: -2, high: 10 });
  assert.ok(min < 0 && max > 0);
});

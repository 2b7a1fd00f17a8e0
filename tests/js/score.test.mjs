// Plain `node --test tests/js`: what the player computes, against the vectors that Python keeps.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

const here = (name) => new URL(name, import.meta.url);
const source = readFileSync(here("../../src/lobewright/picture/score.js"), "utf8");
const player = await import(`data:text/javascript;base64,${Buffer.from(source).toString("base64")}`);
const { score, told } = JSON.parse(readFileSync(here("score_vectors.json"), "utf8"));

/** As Python writes it: what has its default is left out. */
function bare(item) {
  const kept = { ...item };
  if (kept.fade === 1) delete kept.fade;
  if (kept.items) kept.items = kept.items.map(bare);
  return kept;
}

test("pictures, figures and captions are those of Python to the last bit", () => {
  assert.ok(told.length >= 9);
  for (const { u, items, readings, caption } of told) {
    assert.deepEqual(player.pictureAt(score, u).items.map(bare), items, `at ${u}`);
    const toldAt = (one) => [player.wordsAt(one.shown, score, u), ...[player.remarkAt(one, score, u)].filter(Boolean).map((words) => `(${words})`)].join(" ");
    assert.deepEqual(score.readings.map(toldAt), readings);
    assert.equal(player.captionAt(score, u), caption);
  }
});

test("while a question waits, what would answer it is not there", () => {
  const answer = { kind: "group", answers: true, items: [{ kind: "disc", centre: [0, 0], radius: 1 }], fade: { s: 2 } };
  const marked = { ...score, items: [...score.items, answer] };
  const without = player.pictureAt(score, 0.3).items;
  assert.deepEqual(player.pictureAt(marked, 0.3, true).items, without);
  assert.deepEqual(player.pictureAt(marked, 0.3).items, [...without, { kind: "group", items: answer.items, fade: 0.6 }]);
});

test("what stands still is the same object in every frame, so that it is outlined once", () => {
  const [before, after] = [0.2, 0.7].map((u) => player.pictureAt(score, u));
  assert.notEqual(before.items[0], after.items[0]);
  assert.equal(before.items[0].items, after.items[0].items);
});

test("a score is not changed by playing it", () => {
  const before = JSON.stringify(score);
  player.pictureAt(score, 0.4);
  assert.equal(JSON.stringify(score), before);
});

test("figures follow the language; ties go away from zero; no minus before zero", () => {
  const german = { decimal: ",", minus: "−" };
  assert.equal(player.figure(-1.25, 1, german), "−1,3");
  assert.equal(player.figure(2.5, 0, german, true), "+3");
  assert.equal(player.figure(-0.04, 1, german, true), "0,0");
  assert.deepEqual([0.175, 0.275, -1.005, 0.1749].map((value) => player.figure(value, 2, german)), ["0,18", "0,28", "−1,01", "0,17"]);
});

test("a table is read straight between its numbers; a loop goes round, others end", () => {
  const tables = { way: [0, 10, 40] };
  assert.equal(player.numberAt({ t: "way" }, tables, 0.75), 25);
  assert.equal(player.numberAt({ t: "way", a: 2 }, tables, 0), 40);
  assert.equal(player.numberAt({ t: "way", l: 1, a: -0.25 }, tables, 0), 30);
  assert.equal(player.numberAt({ t: "way", l: 1, a: 5 / 6 }, tables, 0), 20);
});

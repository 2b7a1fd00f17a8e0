// Looks under torque: each answer goes with the look that it was asked for, and a question that failed is asked again.
import assert from "node:assert/strict";
import test from "node:test";
import { Pushes } from "../../src/lobewright/web/pages/pushes.js";

const emit = (store, type, detail) => store.dispatchEvent(new CustomEvent(type, { detail }));
const turn = () => new Promise((done) => { setTimeout(done, 5); });

/** A store, what goes out of it as `push`, and a server whose answers are given by hand. */
function begun() {
  const store = new EventTarget();
  const [told, asked] = [[], []];
  store.addEventListener("push", ({ detail }) => told.push(detail));
  globalThis.fetch = (path, { body }) => new Promise((done, fail) => {
    const answer = (status, json) => done({ ok: status < 400, status, json: async () => json, headers: new Map() });
    asked.push({ body: JSON.parse(body), answer, fail });
  });
  return { store, told, asked, pushes: new Pushes(store) };
}

const coarse = { ok: true, coarse: true, edits: [{ place: "a", value: 1 }], file: "a.toml", revision: 7 };
const fine = { ...coarse, coarse: false, edits: [], revision: 8 };

test("an answer goes with the look that it was asked for, not with the newest", async () => {
  const { store, told, asked } = begun();
  emit(store, "look", coarse);
  emit(store, "look", fine);
  await turn();
  assert.deepEqual(asked[0].body, { file: "a.toml", revision: 7, edits: coarse.edits, coarse: true, torque_Nm: null });
  asked[0].answer(200, { ok: true, coarse: true });
  await turn();
  assert.equal(told[0].edits, coarse.edits);
  asked[1].answer(200, { ok: true, coarse: false });
  await turn();
  assert.equal(told[1].edits, fine.edits);
});

test("what is moved is asked about at once, and not again when its look comes", async () => {
  const { store, told, asked } = begun();
  emit(store, "moving", { file: "a.toml", revision: 7, edits: coarse.edits, coarse: true });
  await turn();
  emit(store, "look", coarse);
  asked[0].answer(200, { ok: true, coarse: true });
  await turn();
  assert.equal(asked.length, 1);
  assert.equal(told[0].edits, coarse.edits);
});

test("a question that failed is asked again with the news, and no more once it is answered", async () => {
  const { store, told, asked } = begun();
  emit(store, "look", fine);
  asked[0].fail(new TypeError("no network"));
  await turn();
  assert.equal(asked.length, 1);
  emit(store, "news");
  asked[1].answer(500, { faults: [] });
  await turn();
  assert.equal(told.at(-1).ok, false);
  emit(store, "news");
  asked[2].answer(200, { ok: true, coarse: false });
  await turn();
  emit(store, "news");
  assert.equal(asked.length, 3);
  assert.equal(told.at(-1).edits, fine.edits);
});

test("a question about a design that is open no more is let go", async () => {
  const { store, told, asked } = begun();
  emit(store, "look", fine);
  asked[0].answer(409, { faults: [] });
  await turn();
  emit(store, "news");
  assert.equal(asked.length, 1);
  assert.equal(told.length, 0);
});

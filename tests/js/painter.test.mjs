// Plain `node --test tests/js`: sizes of texts on the canvas, against the vectors that Python keeps.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

const here = (name) => new URL(name, import.meta.url);
const source = readFileSync(here("../../src/lobewright/picture/painter.js"), "utf8");
const { Painter } = await import(`data:text/javascript;base64,${Buffer.from(source).toString("base64")}`);
const { sizes } = JSON.parse(readFileSync(here("score_vectors.json"), "utf8"));

/** A canvas that remembers in what fonts it wrote. */
function canvas() {
  const fonts = [];
  const nothing = () => {};
  const context = new Proxy({ fillText() { fonts.push(this.font); } }, { get: (kept, key) => kept[key] ?? nothing });
  return { fonts, getContext: () => context };
}

test("texts have the sizes that Python gives them, and no larger ones", () => {
  assert.ok(sizes.length >= 4);
  for (const { size_px: size, largest, unit, shown } of sizes) {
    const sheet = canvas();
    const text = { kind: "text", at: [0, 0], text: "words", size_px: size, ...(largest === null ? {} : { largest }) };
    const view = [0, 0, 100 * unit, 50 * unit];
    new Painter(sheet).paint({ view, items: [text] }, { width: 100, height: 50, density: 2, colours: {}, font: "sans" });
    assert.equal(sheet.fonts.length, 1);
    assert.ok(Math.abs(parseFloat(sheet.fonts[0]) - shown / unit) < 1e-9, `${sheet.fonts[0]} is not ${shown / unit}`);
  }
});

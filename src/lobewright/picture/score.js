// What a score shows at u: courses, figures, stages, rows (documented in picture/score.py). The twin of its Score.at().

export const clamp = (value, low, high) => Math.min(Math.max(value, low), high);

/** A table at a place, straight between its numbers. */
function read(table, place, loop) {
  const count = table.length;
  const at = loop ? (place - Math.floor(place)) * count : clamp(place, 0, 1) * (count - 1);
  const first = Math.min(Math.floor(at), count - 1);
  const second = loop ? (first + 1) % count : Math.min(first + 1, count - 1);
  return table[first] + (at - first) * (table[second] - table[first]);
}

/** A number at u: itself, or what its course gives; `share` is i/n in part i of a row. */
export function numberAt(value, tables, u, share = 0) {
  if (typeof value === "number") return value;
  const { v = 0, s = 0, t, m = 1, a = 0, k = 1, l, r } = value;
  if (r && share) {
    const more = { v, s, m, a, k };
    for (const key of Object.keys(r)) more[key] += share * r[key];
    return numberAt({ ...value, ...more, r: undefined }, tables, u);
  }
  const straight = v + s * u;
  return t === undefined ? straight : straight + m * read(tables[t], a + k * u, Boolean(l));
}

/** By so much a number is made larger before it is rounded: 0.175 is a tie for who reads it, its binary form lies just below. */
const NUDGE = 1 + 2 ** -51;

/** A number as a language writes it; ties away from zero, no minus before zero. */
export function figure(value, places, { decimal, minus }, sign = false) {
  const text = (Number.isInteger(value) ? Math.abs(value) : Math.abs(value) * NUDGE).toFixed(places);
  const before = !/[1-9]/.test(text) ? "" : value < 0 ? minus : sign ? "+" : "";
  return before + text.replace(".", decimal);
}

const figuresAt = ({ numbers = [] }, { tables, marks }, u, share) =>
  numbers.map(({ of, places = 0, sign = false }) => figure(numberAt(of, tables, u, share), places, marks, sign));

/** A line of text with its figures. */
export function wordsAt({ words, numbers }, score, u, share = 0) {
  const shown = figuresAt({ numbers }, score, u, share);
  return words.replace(/\{\{|\}\}|\{(\d+)\}/g, (found, index) => (index === undefined ? found[0] : shown[index]));
}

/** What goes with a reading at u; nothing where it has no remark, or none there. */
export function remarkAt({ shown, remark, below_zero: below }, score, u) {
  return !below || figuresAt(shown, score, u, 0).some((one) => one.startsWith(score.marks.minus)) ? remark : "";
}

/** What is said at u. */
export function captionAt({ said }, u) {
  return said.findLast((one) => one.since <= u)?.words ?? "";
}

const still = new WeakMap();

/** Whether nothing within follows u; found once, so that what stands still stays the same object and is outlined once. */
function isStill(value) {
  if (value === null || typeof value !== "object") return true;
  let known = still.get(value);
  if (known === undefined) {
    const moves = !Array.isArray(value) && (value.kind === undefined || value.kind === "stages");
    known = !moves && Object.values(value).every(isStill);
    still.set(value, known);
  }
  return known;
}

/** A path between two stages. */
function staged({ at, ...item }, place) {
  const stages = item.loops;
  const where = clamp(place, 0, 1) * (stages.length - 1);
  const first = Math.min(Math.floor(where), stages.length - 1);
  const [one, other, share] = [stages[first], stages[Math.min(first + 1, stages.length - 1)], where - first];
  const loops = one.map((loop, i) => loop.map((number, k) => number + share * (other[i][k] - number)));
  return { ...item, kind: "path", loops };
}

/** A list at u: rows laid out, what is faded away left out. */
function listed(values, score, u, share) {
  const out = [];
  for (const one of values) {
    if (one?.row === undefined) out.push(resolved(one, score, u, share));
    else for (let i = 0; i < one.row; i += 1) out.push(resolved(one.of, score, u, i / one.row));
  }
  return out.filter((one) => one !== null);
}

function resolved(value, score, u, share = 0) {
  if (value === null || typeof value !== "object") return value;
  if (Array.isArray(value)) return isStill(value) ? value : listed(value, score, u, share);
  if (value.kind === undefined) return "words" in value ? wordsAt(value, score, u, share) : numberAt(value, score.tables, u, share);
  let item = value;
  if (item.kind === "group" && "fade" in item) {
    const fade = numberAt(item.fade, score.tables, u, share);
    if (fade <= 0) return null;
    if (fade !== item.fade || fade > 1) item = { ...item, fade: Math.min(fade, 1) };
  }
  if (isStill(item)) return item;
  if (item.kind === "stages") item = staged(item, numberAt(item.at, score.tables, u, share));
  return Object.fromEntries(Object.entries(item).map(([key, one]) => [key, resolved(one, score, u, share)]));
}

const unmarked = ({ answers, ...item }) => item;

/** The picture at u: a display list. `asked`: while a question waits, without what answers it. */
export function pictureAt(score, u, asked = false) {
  const { view, title, description } = score;
  const items = listed(score.items.filter((item) => !(asked && item.answers)), score, u, 0);
  return { view, items: items.map((item) => (item.answers ? unmarked(item) : item)), title, description };
}

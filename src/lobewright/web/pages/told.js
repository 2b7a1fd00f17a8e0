// Pieces of what long work has found: numbers with their bands, verdicts, edits that were tried. Text goes in as text.
import { ApiFault } from "./api.js";
import { element, figure } from "./dom.js";

export const MARKS = { pass: "✓", warn: "!", fail: "✕", "not made": "–" };
export const WORDS = { pass: "holds", warn: "holds barely", fail: "fails", "not made": "not checked" };
const RAISED = "⁰¹²³⁴⁵⁶⁷⁸⁹";

/** So many figures, as the command prints them: 0.30, 12, 45 000, 1.4 × 10⁶; `endless` for what nothing bounds. */
export function few(value, figures = 3) {
  if (value === null) return "endless";
  if (value === 0) return "0";
  if (value < 0) return `−${few(-value, figures)}`;
  const [digits, power] = value.toExponential(figures - 1).split("e");
  const exponent = Number(power);
  if (exponent < -3 || exponent > 5) {
    const raised = [...String(Math.abs(exponent))].map((digit) => RAISED[digit]).join("");
    return `${digits}\u00a0×\u00a010${exponent < 0 ? "⁻" : ""}${raised}`;
  }
  const rounded = Number(`${digits}e${power}`);
  return rounded >= 10000 ? String(rounded).replace(/(\d)(?=(\d{3})+$)/g, "$1\u00a0") : rounded.toFixed(Math.max(0, figures - 1 - exponent));
}

/** The ends of a band: 0.080 … 1.1; one word where both are endless. */
export function band(low, high, figures = 3) {
  const ends = [few(low, figures), few(high, figures)];
  return ends[0] === ends[1] ? ends[0] : ends.join(" … ");
}

/** Rows of a title and its text. */
export function numbers(rows) {
  return element("dl", { className: "numbers" }, ...rows.map(({ key, title, text }) => {
    const value = element("dd", { textContent: text });
    value.dataset.number = key;
    return element("div", {}, element("dt", { textContent: title }), value);
  }));
}

/** Verdicts, each with its sentence and working under it. */
export function verdicts(rows) {
  return element("div", { className: "checks" }, ...rows.map((row) => {
    const mark = element("span", { className: "mark", textContent: MARKS[row.state] });
    mark.setAttribute("role", "img");
    mark.setAttribute("aria-label", WORDS[row.state]);
    const limit = row.limit === null ? "" : ` (${row.bound} ${figure(row.limit)})`;
    const number = row.value === null ? WORDS[row.state] : `${figure(row.value)} ${row.unit}${limit}`;
    const working = [row.working.equation, row.working.numbers, ...row.working.sources].filter(Boolean).join(" · ");
    const box = element("details", { className: "check" },
      element("summary", {}, mark, element("span", { className: "title", textContent: row.title }), element("span", { className: "number", textContent: number })),
      element("p", { textContent: row.sentence }), element("p", { className: "words", textContent: working }));
    box.dataset.state = row.state;
    box.dataset.verdict = row.name;
    return box;
  }));
}

/** A button that makes edits, and says beside itself where it cannot. `what` tells a screen reader what it does. */
export function doThis(store, edits, what) {
  const button = element("button", { type: "button", textContent: "Do this" });
  button.setAttribute("aria-label", `Do this: ${what}`);
  const fault = element("span", { className: "fault" });
  fault.setAttribute("role", "alert");
  button.addEventListener("click", async () => {
    fault.textContent = "";
    try {
      await store.edit(edits);
    } catch (error) {
      if (!(error instanceof ApiFault)) throw error;
      fault.textContent = error.message;
    }
  });
  return element("span", { className: "line" }, button, fault);
}

/** Edits that turn a verdict to pass, each with its button; nothing where there are none. */
export function advice(store, suggestions, titles) {
  if (!suggestions.length) return [];
  return [element("h3", { textContent: "Tried, and it holds then, with nothing new that fails" }),
    element("ul", { className: "tried" }, ...suggestions.map(({ verdict, edits, sentence }) => element("li", {},
      element("p", {}, element("span", { className: "strong", textContent: `${titles[verdict] ?? verdict}: ` }), sentence), doThis(store, edits, sentence))))];
}

/** What was not made and why. */
export function notMade(rows) {
  return rows.map(([name, why]) => element("p", { className: "words", textContent: `Not made: ${name}. ${why.charAt(0).toUpperCase()}${why.slice(1)}${/[.!?]$/.test(why) ? "" : "."}` }));
}

/** Says, above what was found, that it belongs to another state of the design than the one that is open. */
export class Stale {
  constructor(store, words) {
    this.store = store;
    this.result = null;
    this.root = element("p", { className: "words meanwhile", hidden: true, textContent: words });
    store.addEventListener("look", () => this.show());
  }

  of(result) {
    this.result = result;
    this.show();
  }

  show() {
    const { look } = this.store;
    const same = (key) => look[key] === this.result[key];
    this.root.hidden = !this.result || !look || (look.ok && same("design_sha256") && same("workshop_sha256"));
  }
}

/** What the newest job of a kind has found, and whether it is of the drive as it is now; `told(result)` makes the elements. */
export class Found {
  constructor(store, told) {
    this.store = store;
    this.told = told;
    this.stale = new Stale(store, "Of an earlier state of the design. Ask again to know it of the drive as it is now.");
    this.found = element("div", { className: "found" });
    this.root = element("div", {}, this.stale.root, this.found);
  }

  /** Rejects with an ApiFault where a job's result cannot be had; nothing is shown then, least of all that of another job. */
  async show(job) {
    const mine = this.asked = (this.asked ?? 0) + 1;
    let result = null;
    try {
      result = job && await this.store.result(job.number);
    } finally {
      if (mine === this.asked) {
        this.stale.of(result);
        this.found.replaceChildren(...(result ? this.told(result) : []));
      }
    }
  }
}

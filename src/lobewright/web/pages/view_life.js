// How long the drive bears its duty: what gives first, how often each part lasts, what one change would do.
import { element } from "./dom.js";
import { JobLine } from "./job.js";
import { Found, advice, band, doThis, few, notMade, verdicts } from "./told.js";

export const id = "life";
export const title = "How long it lasts";

const SURE = 1000; // times the duty, above which nothing is told to wear out
const NEAR = 10; // rows that bear more than this even at the low end are only named,
const LEAST_SHOWN = 4; // beyond the first few
const [LOW_POWER, HIGH_POWER] = [-1, 3]; // ends of the bars' scale, powers of ten
const SET = "parked_set";

export function mount(root, store) {
  new Life(root, store);
}

class Life {
  constructor(root, store) {
    this.store = store;
    const found = new Found(store, (result) => this.told(result));
    const line = new JobLine(store, "life", {
      begin: "Ask how long it lasts",
      words: "Which part wears out or gives first in the duty, and what a change would do. Takes half a minute to a few minutes, for it asks everything under torque first.",
      done: (job) => found.show(job),
    });
    root.append(line.root, found.root);
  }

  told(result) {
    const { life } = result;
    const titles = Object.fromEntries(result.verdicts.map((row) => [row.name, row.title]));
    return [...asked(life), ...first(life), ...lives(life.lives), ...strengths(life.strengths.filter((row) => row.name !== SET)),
      ...whatIfs(this.store, result.what_ifs, titles), ...advice(this.store, result.suggestions, titles), ...parked(life.parked),
      element("h3", { textContent: "Checks" }), verdicts(result.verdicts), ...notMade(life.not_made.map((row) => [row.title, row.why]))];
  }
}

function asked({ duty }) {
  const words = duty
    ? `Asked: a duty of ${few(duty.hours)} hours with ${few(duty.generator_turns)} turns of the generator, ${few(duty.bends)} bends of every point of the ring, and a peak of ${few(duty.peak_Nm)} N·m. A band holds nine of ten drives built so, if the stated spreads are right.`
    : "The design names no duty, so nothing is asked of the parts and no life or strength is graded.";
  return [element("p", { className: "words", textContent: words })];
}

/** What wears out and what breaks first, in a sentence each. */
function first({ lives: [wears], strengths: all }) {
  const out = [];
  if (wears) {
    const { low, middle, high } = wears.duties;
    const times = (end) => (end === null ? null : end * wears.asked);
    out.push(low === null || low >= SURE ? "Nothing that was checked wears out: even the low end of every band is over 1000 times the duty."
      : `Wears out first: ${lower(wears.title)}, after ${few(times(middle), 2)} ${wears.counted} (90 % band ${band(times(low), times(high), 2)}); the duty asks for ${few(wears.asked)}. ${grade(wears.duties, "it lasts", "it does not last")}`);
  }
  const weak = all.find((row) => row.name !== SET);
  if (weak) {
    const { low, middle, high } = weak.safety;
    out.push(`Closest to giving way at the peak: ${lower(weak.title)}, which bears ${few(middle)} times its load (90 % band ${band(low, high)}). ${grade(weak.safety, "it holds", "it does not hold")}`);
  }
  return out.map((words) => element("p", { className: "strong", textContent: words }));
}

function grade({ low, middle }, does, not) {
  if (middle !== null && middle < 1) return `Most likely ${not}.`;
  return low !== null && low < 1 ? `Most likely ${does}, but not surely.` : `Even at the low end ${does}.`;
}

const lower = (text) => text.charAt(0).toLowerCase() + text.slice(1);

function lives(rows) {
  return list("How many times the duty each part lasts", rows, "duties", 2, (row) => `asked: ${few(row.asked)} ${row.counted}`);
}

function strengths(rows) {
  const bears = (row) => (row.strength === null ? "bears any" : `bears ${few(row.strength)} ${row.unit}`);
  return list("How many times its load each part bears at the peak", rows, "safety", 3, (row) => `load ${few(row.load)} ${row.unit}, ${bears(row)}`);
}

/** Rows near enough to matter, each with its band drawn; the others by name. */
function list(heading, rows, key, figures, more) {
  if (!rows.length) return [];
  const shown = Math.max(LEAST_SHOWN, rows.filter((row) => row[key].low !== null && row[key].low < NEAR).length);
  const [near, far] = [rows.slice(0, shown), rows.slice(shown)];
  const out = [element("h3", { textContent: heading }),
    element("p", { className: "words", textContent: "1 is just enough; the weakest first. The bar is the band on a scale from a tenth to a thousand times, the upright line stands at 1." }),
    element("ul", { className: "tried" }, ...near.map((row) => element("li", {}, times(row.title, row[key], figures),
      element("p", { className: "words", textContent: [more(row), row.remark].filter(Boolean).join("; ") }))))];
  if (far.length) {
    const ends = far.map((row) => row[key].low).filter((low) => low !== null);
    const least = ends.length ? `${few(Math.min(...ends), 2)} times or more` : "endlessly,";
    out.push(element("p", { className: "words", textContent: `And ${least} even at the low end: ${far.map((row) => lower(row.title)).join(", ")}.` }));
  }
  return out;
}

/** A title, how many times what is asked, and the band as a bar. */
function times(title, span, figures) {
  const number = span ? `${few(span.middle, figures)} times (${band(span.low, span.high, figures)})` : "not made";
  const line = element("div", { className: "lasts" }, element("span", { textContent: title }), element("span", { className: "strong", textContent: number }));
  if (!span) return line;
  const bar = element("div", { className: "bar" }, element("i"));
  bar.setAttribute("aria-hidden", "true");
  const at = (value) => `${100 * (value === null ? 1 : Math.min(1, Math.max(0, (Math.log10(value) - LOW_POWER) / (HIGH_POWER - LOW_POWER))))}%`;
  for (const end of ["low", "middle", "high"]) bar.style.setProperty(`--${end}`, at(span[end]));
  bar.style.setProperty("--one", at(1));
  bar.dataset.state = span.low === null || span.low >= 1 ? "pass" : span.middle !== null && span.middle < 1 ? "fail" : "warn";
  line.append(bar);
  return line;
}

/** What one change would do to the weakest life and strength, each with its button. */
function whatIfs(store, tried, titles) {
  if (!tried.length) return [];
  const both = ({ duties, safety }) => [times("weakest life", duties, 2), times("weakest strength", safety, 3)];
  const items = tried.map((one) => {
    const edits = one.sentence;
    const named = (names) => names.map((name) => lower(titles[name] ?? name.replaceAll("_", " "))).join(", ");
    const words = [edits, one.turns.length ? `passes then: ${named(one.turns)}` : "", one.breaks.length ? `fails then: ${named(one.breaks)}` : ""];
    return element("li", {}, element("h4", { textContent: one.words }), ...both(one.after),
      element("p", { className: "words", textContent: words.filter(Boolean).join("; ") }), doThis(store, one.edits, `${one.words}, ${edits}`));
  });
  return [element("h3", { textContent: "What if one thing were changed" }),
    element("p", { className: "words", textContent: "Life in times the duty, strength in times the load. Hours stay as they are: half as fast is half the work." }),
    element("ul", { className: "tried" }, element("li", {}, element("h4", { textContent: "as it is" }), ...both(tried[0].before)), ...items)];
}

function parked(found) {
  if (!found?.advice) return [];
  const remark = found.remark ? ` ${found.remark.charAt(0).toUpperCase()}${found.remark.slice(1).replace(/\.$/, "")}.` : "";
  return [element("h3", { textContent: "When it is parked" }), element("p", { textContent: `${found.advice.replace(/\.$/, "")}.${remark}` })];
}

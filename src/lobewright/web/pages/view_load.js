// The drive under a torque that is chosen here: what it does at once, which the moving drive shows too, and everything with its
// bands, which takes a while.
import { ApiFault } from "./api.js";
import { element, setText } from "./dom.js";
import { JobLine } from "./job.js";
import { Pushes } from "./pushes.js";
import { Found, advice, band, few, notMade, numbers, verdicts } from "./told.js";

export const id = "load";
export const title = "Under torque";

const STEPS = 200; // of the slider
const REACH = 2; // times the duty's peak, to which it goes
const BEYOND = 1.1; // times the torque at which it lets go, once that is known
const OFF = 1e-4; // below this a coarse look was as good as a fine one

export function mount(root, store) {
  document.head.append(element("link", { rel: "stylesheet", href: "/pages/view_load.css" }));
  const pushes = new Pushes(store);
  const quick = new Quick(store, pushes);
  const full = new Full(store);
  root.append(quick.root, full.root);
}

class Quick {
  constructor(store, pushes) {
    this.pushes = pushes;
    this.entry = element("input", { type: "text", id: "torque", autocomplete: "off", spellcheck: false });
    this.entry.setAttribute("aria-describedby", "torque-words torque-fault");
    this.entry.addEventListener("change", () => this.typed(this.entry.value));
    this.slider = element("input", { type: "range", id: "torque-slider", min: 0, max: 1, step: 0.01, disabled: true });
    this.slider.setAttribute("aria-label", "Torque");
    this.slider.addEventListener("input", () => this.move(this.slider.valueAsNumber));
    this.label = element("label", { htmlFor: "torque", textContent: "Torque" });
    this.steady = this.preset();
    this.peak = this.preset();
    const words = element("p", { className: "words", id: "torque-words", textContent: "In N·m, or typed with another unit: 41 kgf·cm, 250 N·mm." });
    this.fault = element("p", { className: "fault", id: "torque-fault", hidden: true });
    this.fault.setAttribute("role", "alert");
    this.word = element("p");
    this.word.setAttribute("role", "status");
    this.coarse = element("p", { className: "words" });
    this.list = element("div");
    this.ring = element("p", { className: "words" });
    this.end = element("span");
    const ends = element("div", { className: "ends" }, element("span", { textContent: "0" }), this.end);
    ends.setAttribute("aria-hidden", "true");
    this.root = element("div", { className: "push" }, this.label,
      element("div", { className: "line" }, this.entry, this.steady, this.peak), this.slider, ends, words, this.fault, this.word, this.coarse, this.list, this.ring);
    this.shown = null; // the answer that stands here: of which design, and the edits of which look
    store.addEventListener("push", ({ detail }) => this.show(detail));
    store.addEventListener("look", ({ detail }) => this.looked(detail));
    store.addEventListener("state", ({ detail }) => this.other(detail.open?.file ?? ""));
  }

  /** Of another design nothing stands here: its numbers would be taken for this one's. */
  other(file) {
    if (file === this.file) return;
    this.file = file;
    this.shown = null;
    this.say("");
    this.entry.value = "";
    this.slider.disabled = this.steady.hidden = this.peak.hidden = true;
    setText(this.label, "Torque");
    setText(this.word, "Being worked out for this drive.");
    for (const part of [this.coarse, this.ring, this.end]) setText(part, "");
    this.list.replaceChildren();
    this.old(false);
  }

  looked({ ok, coarse, edits, faults }) {
    if (!this.shown) setText(this.word, ok ? "Being worked out for this drive." : faults.length ? "This cannot be built, so nothing is told of it under torque." : "");
    else if (!ok || !coarse) this.old(!ok || edits !== this.shown.edits);
  }

  /** A button for a torque of the duty. */
  preset() {
    const button = element("button", { type: "button", className: "quiet", hidden: true });
    button.addEventListener("click", () => {
      this.say("");
      this.pushes.at(Number(button.value));
    });
    return button;
  }

  move(torque) {
    this.say("");
    this.entry.value = torqueWords(torque);
    this.slider.setAttribute("aria-valuetext", this.entry.value);
    this.pushes.at(Number(torque.toPrecision(6)));
  }

  async typed(text) {
    this.say("");
    const { file } = this;
    try {
      await this.pushes.typed(text);
    } catch (fault) {
      if (!(fault instanceof ApiFault)) throw fault;
      if (this.file === file && this.entry.value === text) this.say(fault.message); // else something else is asked by now
    }
  }

  say(words) {
    setText(this.fault, words);
    this.fault.hidden = !words;
    this.entry.classList.toggle("wrong", Boolean(words));
    if (words) this.entry.setAttribute("aria-invalid", "true");
    else this.entry.removeAttribute("aria-invalid");
  }

  old(old) {
    for (const part of [this.word, this.list, this.ring]) part.classList.toggle("old", old);
  }

  show(push) {
    if (push.file !== this.file) return;
    this.old(!push.ok);
    if (!push.ok) {
      setText(this.word, `Not made: ${push.faults.map((fault) => fault.sentence).join(" ")}`);
      setText(this.coarse, "");
      return;
    }
    this.shown = push;
    this.control(push);
    setText(this.word, carried(push));
    setText(this.coarse, coarseWords(push));
    this.list.replaceChildren(numbers(push.numbers));
    setText(this.ring, ringWords(push));
  }

  control({ asked_Nm: asked, duty, limit, loads }) {
    setText(this.label, `Torque on ${loads.member === "flexible" ? "the flexible ring" : `ring ${loads.member}`}`);
    for (const [button, name, torque] of [[this.steady, "steady", duty?.rated_Nm], [this.peak, "peak", duty?.peak_Nm]]) {
      button.hidden = !duty;
      if (duty) Object.assign(button, { value: torque, textContent: `${name} ${torqueWords(torque)}` });
    }
    if (document.activeElement !== this.slider) {
      const furthest = limit ? Math.min(asked, BEYOND * limit.torque_Nm) : asked; // no use in moving far beyond what it carries
      const max = Math.max(furthest, REACH * (duty ? duty.peak_Nm : furthest));
      Object.assign(this.slider, { max, step: max / STEPS || 1, disabled: !max, value: asked });
      setText(this.end, max ? torqueWords(max) : "");
    }
    this.slider.setAttribute("aria-valuetext", torqueWords(asked));
    if (document.activeElement !== this.entry && this.fault.hidden) this.entry.value = torqueWords(asked);
  }
}

/** What the drive does at the torque, in a sentence. */
function carried({ asked_Nm: asked, torque_Nm: torque, carried: carries, limit, duty }) {
  if (asked === 0) return duty ? "No torque: the drive as it rests, its teeth brought in." : "The design names no duty, so no torque is chosen: type one.";
  const about = limit && `${limit.words} at about ${few(limit.torque_Nm)} N·m, frictionless and without a band`;
  if (!carries) return `It does not carry ${torqueWords(asked)}: ${about}. Told, and shown in the moving drive, for ${few(torque)} N·m.`;
  return `It carries ${torqueWords(asked)}${limit ? `; ${about}` : ""}. The moving drive shows what presses where.`;
}

/** A torque that somebody chose: with no more figures than that. */
function torqueWords(torque) {
  return `${few(torque).replace(/(\.\d*?)0+$/, "$1").replace(/\.$/, "")} N·m`;
}

function coarseWords({ coarse, off }) {
  if (coarse) return "While you move: looked at coarsely.";
  if (!off || off.share < OFF) return "";
  return `Looked at finely; what stood here while you moved was off by ${few(100 * off.share, 2)} % at most (${off.title.charAt(0).toLowerCase()}${off.title.slice(1)}).`;
}

function ringWords({ coarse, stress, stress_not_made: why }) {
  if (stress) return `Along the ring the moving drive shows: ${stress.what}.`;
  return coarse ? `What the ring bears is ${why}.` : `What the ring bears along itself is not made: ${why}.`;
}

class Full {
  constructor(store) {
    this.store = store;
    const found = new Found(store, (result) => this.told(result));
    const line = new JobLine(store, "load", {
      begin: "Ask everything under torque",
      words: "When it skips, how stiff it is, how hard it turns, how true it runs: each with the band that nine of ten drives lie in. Takes some ten seconds to a few minutes.",
      done: (job) => found.show(job),
    });
    this.root = element("div", {}, element("h3", { textContent: "With everything that is not known for sure" }), line.root, found.root);
  }

  told(result) {
    const { load } = result;
    const rows = result.headlines.map((row) => ({ ...row, text: withBand(row) }));
    const titles = Object.fromEntries(result.verdicts.map((row) => [row.name, row.title]));
    const duty = load.torques_from_duty ? "of the duty" : "chosen, for the design names no duty";
    const words = `The largest torque ${duty} is ${torqueWords(load.peak_Nm)}, the steady one ${torqueWords(load.rated_Nm)}. In brackets: the 90 % band.`;
    return [element("p", { className: "words", textContent: words }), numbers(rows), ...widest(result), verdicts(result.verdicts),
      ...advice(this.store, result.suggestions, titles), ...notMade(Object.entries(load.not_made))];
  }
}

function withBand({ value, low, high, unit }) {
  if (unit === "teeth" && Number.isInteger(value)) return `${value} teeth${low === null ? "" : ` (${low === high ? low : `${low} … ${high}`})`}`;
  return `${few(value)} ${unit}${low === null ? "" : ` (${band(low, high)})`}`;
}

/** What makes the band of the skip torque wide, the most first. */
function widest({ load, causes }) {
  const skip = load.bands.find((one) => one.name === "skip_torque");
  if (!skip) return [];
  const parts = Object.entries(skip.shares).sort((one, other) => other[1] - one[1]).slice(0, 3);
  const named = parts.map(([name, share]) => `${causes[name]}, ${Math.round(100 * share)} %`).join("; ");
  return [element("p", { className: "words", textContent: `What makes the band of the skip torque wide: ${named}. Readings of your own narrow it.` })];
}

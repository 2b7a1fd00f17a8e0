// The design as a form: a table of the file is a group, a key an entry with its words, its unit and what it allows. Numbers can
// be typed, with another unit too, or moved with a slider: what is moved is shown at once and kept when it is let go.
import { ApiFault, ask } from "./api.js";
import { element, shownNumber } from "./dom.js";

const MOVE_SHARE = 0.3; // a slider reaches this share of the value to either side
const WHOLE_REACH = 20; // and this many for counts

export function mountForm(root, store) {
  const form = new Form(root, store);
  store.addEventListener("state", () => form.refresh());
  store.addEventListener("look", ({ detail }) => form.faults(detail.ok ? [] : detail.faults));
}

class Form {
  constructor(root, store) {
    this.root = root;
    this.store = store;
    this.entries = new Map(); // place → Entry
    this.shape = "";
    this.opened = new Set(["", "flexible_ring", "generator"]); // places of groups that stand open
  }

  async refresh() {
    if (!this.store.state.open) {
      this.root.replaceChildren();
      this.shape = "";
      return;
    }
    const { sections } = await ask("/api/form");
    const shape = JSON.stringify(sections.map((one) => [one.place, one.given, one.chosen, one.entries.map((entry) => entry.place)]));
    if (shape !== this.shape) this.build(sections);
    this.shape = shape;
    for (const section of sections) for (const entry of section.entries) this.entries.get(entry.place)?.show(entry);
    this.faults(this.store.look && !this.store.look.ok ? this.store.look.faults : []);
  }

  build(sections) {
    const top = window.scrollY;
    this.entries.clear();
    this.root.replaceChildren(element("h2", { textContent: "The design" }), ...sections.map((one) => this.group(one)), this.more(sections));
    window.scrollTo(0, top);
  }

  group(section) {
    const box = element("details", { className: "group", open: this.opened.has(section.place) });
    box.addEventListener("toggle", () => this.opened[box.open ? "add" : "delete"](section.place));
    const summary = element("summary", {}, element("span", { textContent: section.title }));
    if (!section.given) summary.append(element("small", { textContent: " not in the file" }));
    box.append(summary);
    if (section.words) box.append(element("p", { className: "words", textContent: plain(section.words) }));
    if (section.kinds.length) box.append(this.kinds(section));
    for (const entry of section.given ? section.entries : []) {
      const made = new Entry(entry, this.store);
      this.entries.set(entry.place, made);
      box.append(made.root);
    }
    if (!section.given && section.place && !section.kinds.length) box.append(this.button("Put it in", section.place, "add"));
    if (section.given && !section.needed && section.place) box.append(this.button("Take it out", section.place, "remove"));
    return box;
  }

  button(words, place, change) {
    const button = element("button", { type: "button", className: "quiet", textContent: words });
    button.addEventListener("click", () => this.try(() => this.store.table(place, change), place));
    return button;
  }

  kinds(section) {
    const id = `kind-${section.place}`;
    const select = element("select", { id });
    const now = section.given ? section.chosen : "";
    if (!now) select.append(element("option", { value: "", textContent: "–" }));
    for (const kind of section.kinds) select.append(element("option", { value: kind, textContent: kind.replaceAll("_", " "), selected: kind === now }));
    select.addEventListener("change", () => this.try(() => this.store.table(section.place, "kind", select.value), section.place));
    const note = element("p", { className: "fault", id: `fault-${section.place}`, hidden: true });
    return element("div", { className: "entry" }, element("label", { htmlFor: id, textContent: section.kind_key }), select, note);
  }

  /** Adds a step of duty: the one table that often stands several times. */
  more(sections) {
    const rows = sections.filter((one) => one.place.startsWith("duty[")).length;
    return this.button(rows ? "One more step of duty" : "Say what it has to do", "duty", "add");
  }

  async try(act, place) {
    try {
      await act();
    } catch (fault) {
      if (!(fault instanceof ApiFault)) throw fault;
      this.shapeFault(place, fault.message);
    }
  }

  shapeFault(place, words) {
    const note = document.getElementById(`fault-${place}`);
    if (!note) return;
    note.textContent = words;
    note.hidden = false;
  }

  /** Faults of the last look stand beside the entries that they name. */
  faults(rows) {
    for (const entry of this.entries.values()) entry.fault(rows.filter((row) => row.place === entry.place).map(sentence).join(" "));
    for (const note of this.root.querySelectorAll(".group > .entry > .fault[id]")) {
      const place = note.id.slice("fault-".length);
      if (this.entries.has(place)) continue;
      const words = rows.filter((row) => row.place === place || row.place === `${place}.kind` || row.place === `${place}.form`).map(sentence).join(" ");
      note.textContent = words;
      note.hidden = !words;
    }
  }
}

/** A fault's sentence without file and place, which stand where it is shown. */
function sentence({ what, allowed }) {
  return allowed ? `${what}; allowed: ${allowed}.` : `${what}.`;
}

/** Words of the reference pages without their links and marks. */
function plain(words) {
  return words.replace(/\[([^\]]*)\]\([^)]*\)/g, "$1").replaceAll("`", "");
}

class Entry {
  constructor(entry, store) {
    this.place = entry.place;
    this.store = store;
    this.data = entry;
    const id = `entry-${entry.place}`;
    this.note = element("p", { className: "fault", id: `fault-${entry.place}`, hidden: true });
    this.field = this.makeField(entry, id);
    this.field.setAttribute("aria-describedby", `${id}-words fault-${entry.place}`);
    const label = element("label", { htmlFor: id, textContent: title(entry) });
    const words = element("p", { className: "words", id: `${id}-words`, textContent: describe(entry) });
    const line = element("div", { className: "line" }, this.field);
    if (entry.unit && entry.unit !== "teeth" && entry.type !== "whole") line.append(element("span", { className: "unit", textContent: short(entry.unit) }));
    this.root = element("div", { className: "entry" }, label, line);
    if (entry.type === "number" || entry.type === "whole") {
      this.slider = element("input", { type: "range", id: `${id}-slider` });
      this.slider.setAttribute("aria-label", `move ${title(entry)}`);
      this.listenSlider();
      this.root.append(this.slider);
    }
    this.root.append(words, this.note);
  }

  makeField(entry, id) {
    if (entry.type === "choice") {
      const field = element("select", { id });
      if (!entry.needed) field.append(element("option", { value: "", textContent: `as usual (${entry.default ?? "none"})` }));
      for (const one of entry.choices) field.append(element("option", { value: String(one), textContent: String(one).replaceAll("_", " ") }));
      field.addEventListener("change", () => this.keep(field.value));
      return field;
    }
    if (entry.type === "flag") {
      const field = element("input", { type: "checkbox", id });
      field.addEventListener("change", () => this.keep(String(field.checked)));
      return field;
    }
    const field = element("input", { type: "text", id, autocomplete: "off", spellcheck: false });
    if (entry.type !== "text") field.inputMode = entry.accepts ? "text" : "decimal";
    field.addEventListener("change", () => this.keep(field.value));
    return field;
  }

  listenSlider() {
    this.slider.addEventListener("input", () => {
      const value = this.slider.valueAsNumber;
      this.field.value = shownNumber(value);
      this.store.move([{ place: this.place, value }]);
    });
    this.slider.addEventListener("change", () => this.keep(undefined, this.slider.valueAsNumber));
  }

  async keep(text, value) {
    try {
      await this.store.edit([text === undefined ? { place: this.place, value } : { place: this.place, text }]);
      this.fault("");
    } catch (fault) {
      if (!(fault instanceof ApiFault)) throw fault;
      this.fault(fault.faults.map(sentence).join(" ") || fault.message);
    }
  }

  show(entry) {
    this.data = entry;
    const value = entry.value ?? (entry.type === "flag" ? entry.default : null);
    if (entry.type === "flag") this.field.checked = value === true;
    else if (document.activeElement !== this.field || !this.field.classList.contains("wrong")) this.field.value = value === null ? "" : shownValue(value);
    if (this.field.type === "text") this.field.placeholder = entry.default === null || entry.default === "" ? "" : `${shownValue(entry.default)} as usual`;
    if (this.slider && document.activeElement !== this.slider) this.range(Number(value ?? entry.default ?? entry.low ?? 0));
  }

  /** Lets the slider reach some way to either side of the value, inside what is allowed. */
  range(value) {
    const { low, high, type } = this.data;
    const reach = type === "whole" ? WHOLE_REACH : Math.abs(value) * MOVE_SHARE || Math.min(1, (high ?? 1) - (low ?? 0)) / 4;
    const step = type === "whole" ? 1 : 10 ** Math.floor(Math.log10(reach / 20));
    const round = (number) => Math.round(number / step) * step;
    this.slider.step = step;
    this.slider.min = Math.max(low ?? -Infinity, round(value - reach));
    this.slider.max = Math.min(high ?? Infinity, round(value + reach));
    this.slider.value = value;
  }

  fault(words) {
    this.note.textContent = words;
    this.note.hidden = !words;
    this.field.classList.toggle("wrong", Boolean(words));
    if (words) this.field.setAttribute("aria-invalid", "true");
    else this.field.removeAttribute("aria-invalid");
  }
}

const UNIT_WORDS = { degrees: "°", "as a factor": "×", "as a share of the pitch": "of the pitch" };
const short = (unit) => UNIT_WORDS[unit] ?? unit;

/** `roller_centre_distance_mm` → roller centre distance. */
function title({ key }) {
  return key.replace(/_(mm|deg|Nm|rpm|C|hours|factor|share|N|g)$/, "").replaceAll("_", " ");
}

function describe(entry) {
  const limits = [];
  if (entry.low !== null) limits.push(`${entry.open_low ? "more than" : "from"} ${shownValue(entry.low)}`);
  if (entry.high !== null) limits.push(`${entry.open_high ? "less than" : "to"} ${shownValue(entry.high)}`);
  const words = plain(entry.words);
  return [words, limits.length ? limits.join(" ") + (entry.unit ? ` ${short(entry.unit)}` : "") : ""].filter(Boolean).join("; ");
}

function shownValue(value) {
  if (Array.isArray(value)) return value.map(shownValue).join(", ");
  return typeof value === "number" ? shownNumber(value) : String(value);
}

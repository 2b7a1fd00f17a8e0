// One entry of the form: its words, its field, its unit and what it allows, and what is wrong with it. What is being typed is
// never overwritten: a change that comes from elsewhere meanwhile is told beside it.
import { ApiFault } from "./api.js";
import { element, sentence, setText, shownNumber } from "./dom.js";
import { Slider } from "./slider.js";

const UNIT_WORDS = { degrees: "°", "as a factor": "×", "as a share of the pitch": "of the pitch" };
const ROWS = 4;
const CHOSEN = ["bearing", "belt", "bolt", "member"]; // names that are chosen, for no others are taken

export class Entry {
  constructor(entry, store) {
    this.place = entry.place;
    this.store = store;
    this.data = entry;
    this.typed = false; // something is being typed that is not kept
    this.refused = ""; // why what was typed is not kept
    this.own = false; // what was kept from here is still to come back with the form
    this.looked = ""; // what the last look says of this place
    const id = `entry-${entry.place}`;
    this.note = element("p", { className: "fault", id: `fault-${entry.place}`, hidden: true });
    this.note.setAttribute("role", "status");
    this.told = element("p", { className: "words meanwhile", hidden: true });
    this.told.setAttribute("role", "status");
    this.field = this.makeField(entry, id);
    this.field.setAttribute("aria-describedby", `${id}-words fault-${entry.place}`);
    const label = element("label", { htmlFor: id, textContent: entry.title });
    const unit = unitOf(entry);
    const line = element("div", { className: "line" }, this.field);
    if (unit) line.append(element("span", { className: "unit", textContent: unit }));
    this.root = element("div", { className: `entry ${entry.type}` }, label, line);
    if (entry.type === "number" || entry.type === "whole") {
      this.slider = new Slider(`${id}-slider`, `Move ${entry.title}`, {
        moved: (value) => this.move(value),
        kept: (value) => this.keep({ place: this.place, value }),
      });
      this.root.append(this.slider.root);
    }
    this.root.append(element("p", { className: "words", id: `${id}-words`, textContent: describe(entry) }), this.note, this.told);
  }

  makeField(entry, id) {
    if (entry.type === "choice") {
      const field = element("select", { id });
      if (!entry.needed) field.append(element("option", { value: "", textContent: `as usual (${plainName(entry.default ?? "none")})` }));
      for (const one of entry.choices) field.append(element("option", { value: String(one), textContent: plainName(one) }));
      field.addEventListener("change", () => this.keepText());
      return field;
    }
    if (entry.type === "flag") {
      const field = element("input", { type: "checkbox", id });
      field.addEventListener("change", () => this.keep({ place: this.place, text: String(field.checked) }));
      return field;
    }
    if (entry.type === "text" && CHOSEN.includes(entry.known)) {
      const field = element("select", { id });
      field.addEventListener("change", () => this.keepText());
      return field;
    }
    const field = entry.type === "long" ? element("textarea", { id, rows: ROWS }) : element("input", { type: "text", id });
    Object.assign(field, { autocomplete: "off", spellcheck: entry.type === "long" });
    if (entry.known) field.setAttribute("list", `known-${entry.known}`);
    if (entry.type === "whole") field.inputMode = "numeric";
    field.addEventListener("input", () => { this.typed = true; });
    field.addEventListener("change", () => this.keepText());
    field.addEventListener("keydown", (event) => {
      if (event.key === "Escape" && this.typed) this.leave();
      if (event.key === "Enter" && entry.type !== "long" && this.typed) this.keepText();
    });
    return field;
  }

  /** The names among which a value is chosen, as the last form lists them; one that the file has stands there in any case. */
  names(known) {
    if (this.field.tagName !== "SELECT" || !CHOSEN.includes(this.data.known)) return;
    const { value, needed, default: usual } = this.data;
    const rows = known[this.data.known].map(([name, words]) => [name, `${plainName(name)}${words ? `: ${words}` : ""}`]);
    if (!needed || !value) rows.unshift(["", needed ? "none yet" : usual ? `as usual (${plainName(usual)})` : "none"]);
    if (value && !rows.some(([name]) => name === value)) rows.push([String(value), `${value}: not known here`]);
    const wanted = JSON.stringify(rows);
    if (wanted === this.listed) return;
    this.listed = wanted;
    this.field.replaceChildren(...rows.map(([name, text]) => element("option", { value: name, textContent: text })));
    this.field.value = shownValue(value);
  }

  /** Typing is given up: the entry says again what the file says. */
  leave() {
    this.typed = false;
    this.refused = "";
    this.show(this.data);
    this.wrong();
  }

  move(value) {
    this.field.value = shownNumber(value);
    this.typed = false;
    this.refused = "";
    this.store.move([{ place: this.place, value }]);
  }

  keepText() {
    return this.keep({ place: this.place, text: this.field.value });
  }

  async keep(edit) {
    const sent = this.field.value;
    const before = this.data;
    if (edit.text !== undefined && this.waiting === sent) return; // Enter and leaving the field tell the same twice
    this.waiting = sent;
    try {
      await this.store.edit([edit]);
      this.own = this.data === before;
      if (this.field.value === sent) this.typed = false;
      this.refused = "";
      this.told.hidden = true;
      if (this.data !== before) this.show(this.data); // what the file says came before this answer
    } catch (fault) {
      if (!(fault instanceof ApiFault)) throw fault;
      this.refused = `${fault.faults.map(sentence).join(" ") || fault.message} Not kept; the design still has ${shownValue(this.data.value) || "none"}.`;
    }
    this.waiting = undefined;
    this.wrong();
  }

  show(entry) {
    const before = shownValue(this.data.value);
    const now = shownValue(entry.value);
    const own = this.own;
    this.data = entry;
    this.own = false;
    const counts = entry.value ?? entry.default;
    if (this.slider) {
      this.slider.root.hidden = typeof counts !== "number"; // a number that is neither given nor usual has no place on it
      if (typeof counts === "number") this.slider.show(counts, entry, (value) => `${shownNumber(value)} ${unitOf(entry)}`.trim());
      if (this.slider.busy) return;
    }
    if (this.typed) {
      if (now !== before && now !== this.field.value && !own) {
        setText(this.told, `Changed meanwhile in another page or file: now ${now || "none"}. What you type here is not kept yet; Escape takes the other.`);
        this.told.hidden = false;
      }
      return;
    }
    this.told.hidden = true;
    if (entry.type === "flag") this.field.checked = counts === true;
    else if (this.field.value !== now) this.field.value = now;
    if (this.field.placeholder !== undefined) this.field.placeholder = shownValue(entry.default) ? `${shownValue(entry.default)} as usual` : "";
  }

  /** What is being typed here, for an entry that takes this one's place. */
  carry(old) {
    if (!old?.typed) return;
    this.field.value = old.field.value;
    this.typed = true;
    this.refused = old.refused;
    this.data = old.data;
    this.own = old.own;
  }

  fault(words) {
    this.looked = words;
    this.wrong();
  }

  wrong() {
    const words = this.refused || this.looked;
    setText(this.note, words);
    this.note.hidden = !words;
    this.field.classList.toggle("wrong", Boolean(words));
    if (words) this.field.setAttribute("aria-invalid", "true");
    else this.field.removeAttribute("aria-invalid");
  }
}

function unitOf({ unit, type }) {
  return unit && unit !== "teeth" && type !== "whole" ? UNIT_WORDS[unit] ?? unit : "";
}

function plainName(name) {
  return String(name).replaceAll("_", " ");
}

/** Words of the reference pages without their links and marks. */
export function plain(words) {
  return words.replace(/\[([^\]]*)\]\([^)]*\)/g, "$1").replaceAll("`", "");
}

function describe(entry) {
  const limits = [];
  if (entry.low !== null) limits.push(`${entry.open_low ? "more than" : "from"} ${shownValue(entry.low)}`);
  if (entry.high !== null) limits.push(`${entry.open_high ? "less than" : "to"} ${shownValue(entry.high)}`);
  const allowed = limits.length ? `${limits.join(" ")} ${entry.unit === "degrees" ? "°" : unitOf(entry) === "×" ? "" : unitOf(entry)}`.trim() : "";
  return [plain(entry.words), allowed.replace(/(^|\s)-(?=\d)/g, "$1−").replace(/ °$/, "°").replace(/ (\S+)$/, "\u00a0$1")].filter(Boolean).join("; ");
}

function shownValue(value) {
  if (value === null || value === undefined) return "";
  if (Array.isArray(value)) return value.map(shownValue).join(", ");
  return typeof value === "number" ? shownNumber(value) : String(value);
}

// Lesson files of the folder: which is chosen, what it asks for, what is wrong with it. It is read anew when the page is come back
// to, and by the server when the lesson is written: people change such files elsewhere.
import { ApiFault, ask } from "./api.js";
import { element } from "./dom.js";
import { ownName } from "./teach_plain.js";

const PLAIN = "A plain lesson, chosen here";

export class LessonFiles {
  constructor(store, changed) {
    this.store = store;
    this.changed = changed;
    this.asked = 0; // counts questions, so that a late answer to an earlier one is not taken after a later one
    this.field = element("select", { id: "lesson-file" });
    this.field.addEventListener("change", () => this.read());
    this.told = element("div", { className: "lesson" });
    this.told.setAttribute("aria-live", "polite");
    this.root = element("div", {}, element("label", { className: "inline", htmlFor: this.field.id }, element("span", { className: "strong", textContent: "Which lesson" }), this.field), this.told);
    store.addEventListener("state", () => this.found && this.tell());
    document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && this.again());
    this.list([]);
  }

  get name() {
    return this.field.value;
  }

  list(files) {
    const name = files.includes(this.name) ? this.name : "";
    this.files = files;
    this.field.replaceChildren(...[["", PLAIN], ...files.map((file) => [file, file])].map(([value, textContent]) => element("option", { value, textContent, selected: value === name })));
    this.root.hidden = !files.length;
    if (!name) this.put(null);
  }

  /** Asks which there are, and what the chosen one says now. */
  async again() {
    const mine = ++this.asked;
    try {
      const { files } = await ask("/api/lesson");
      if (mine !== this.asked) return;
      this.list(files);
      if (this.name) await this.read();
    } catch (fault) {
      if (!(fault instanceof ApiFault)) throw fault; // the page tells by itself when nobody answers
    }
  }

  async read() {
    const { name } = this;
    const mine = ++this.asked;
    if (name !== this.of) this.put(null); // what another file says is nothing for this one
    if (!name) return undefined;
    let found;
    try {
      found = await ask(`/api/lesson/file?${new URLSearchParams({ name })}`);
    } catch (fault) {
      if (!(fault instanceof ApiFault)) throw fault;
      found = { faults: fault.faults.map(({ sentence }) => sentence) };
    }
    if (mine === this.asked && name === this.name) this.put(found);
    return undefined;
  }

  put(found) {
    this.found = found;
    this.of = found ? this.name : "";
    this.tell();
    this.changed();
  }

  get ready() {
    return Boolean(this.found?.parts) && this.found.design === this.store.state?.open?.file;
  }

  tell() {
    if (!this.found) return this.told.replaceChildren();
    const { faults, design } = this.found;
    if (faults) {
      return this.told.replaceChildren(element("p", { className: "fault", textContent: "This lesson file cannot be used yet. Mend it in any editor for text; it is read again when you come back." }),
        element("ul", { className: "faults" }, ...faults.map((textContent) => element("li", { textContent }))));
    }
    const other = design === this.store.state?.open?.file ? [] : [this.elsewhere(design)];
    return this.told.replaceChildren(...other, element("p", { textContent: this.head() }), element("ol", {}, ...this.found.parts.map((part) => this.part(part))));
  }

  elsewhere(design) {
    const open = element("button", { type: "button", textContent: `Open ${design}` });
    open.addEventListener("click", () => this.store.open(design).catch((fault) => this.store.refused(fault)));
    return element("div", { className: "line" }, element("p", { className: "fault", textContent: `This lesson belongs to ${design}, which is not the open design.` }), open);
  }

  head() {
    const { title, language, date, students } = this.found;
    const words = [title && `“${title}”`, ownName(language), date && `on ${shownDay(date)}`, students && `${students} student${students > 1 ? "s" : ""}`];
    return `${words.filter(Boolean).join(", ")}. It holds, in this order:`;
  }

  part({ text, scene, title, takes, stills, stops, stop_seconds: seconds, films }) {
    if (text) return element("li", {}, "your text ", element("code", { textContent: text }));
    const more = [
      takes.length && `takes ${takes.join(", ")}`,
      stills && (stills.length ? `pictures of ${stills.join(", ")}` : "no pictures"),
      stops.length && `films stand still for ${seconds} s at ${stops.join(", ")}`,
      films.length && `films as ${films.join(", ")}`,
    ].filter(Boolean);
    const name = element("span", { textContent: title || scene, lang: this.found.language });
    return element("li", {}, name, ...(more.length ? [element("span", { className: "words", textContent: `: ${more.join("; ")}` })] : []));
  }
}

function shownDay(date) {
  return new Intl.DateTimeFormat("en-GB", { dateStyle: "long", timeZone: "UTC" }).format(new Date(date));
}

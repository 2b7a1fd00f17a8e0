// What was chosen, kept as a lesson file of the folder: from it the lesson is made anew when the design has changed. An earlier
// lesson file is written over only when that is said, any other file never.
import { ApiFault, ask, tell } from "./api.js";
import { element, sentence, setText } from "./dom.js";

const FILE_NAME = /^[A-Za-z0-9][A-Za-z0-9 _-]{0,59}$/;

export class KeptLesson {
  /** `wants()`: what is chosen, null while it cannot be kept; `kept(file)` is called when it is. */
  constructor(store, wants, kept) {
    Object.assign(this, { store, wants, kept, asking: false });
    this.field = element("input", { type: "text", className: "name", id: "lesson-name", autocomplete: "off", spellcheck: false });
    this.keep = element("button", { type: "button", textContent: "Keep it" });
    this.over = element("button", { type: "button", hidden: true });
    this.fault = element("p", { className: "fault", id: "lesson-name-fault", hidden: true });
    this.fault.setAttribute("role", "alert");
    this.told = element("p", { className: "words" });
    this.told.setAttribute("role", "status");
    this.field.setAttribute("aria-describedby", this.fault.id);
    this.field.addEventListener("input", () => this.say(""));
    this.keep.addEventListener("click", () => this.write(false));
    this.over.addEventListener("click", () => this.write(true));
    this.root = element("details", { className: "group" }, element("summary", { textContent: "Keep these choices as a lesson file" }),
      element("p", { className: "words", textContent: "A small text file in the project folder: it can be changed in any editor, hold texts of your own between the scenes, and the lesson is made anew from it when the design has changed." }),
      element("div", { className: "question" }, element("label", { htmlFor: this.field.id }, "Name of the file", this.field), this.keep, this.over, this.fault), this.told);
    this.root.addEventListener("toggle", () => { this.field.value ||= this.free(); });
  }

  show() {
    this.keep.disabled = this.over.disabled = !this.wants();
  }

  free() {
    const { designs, open } = this.store.state;
    const stem = `${open.file.replace(/\.toml$/, "")}_class`.slice(0, 50);
    for (let number = 1; ; number += 1) {
      const name = number === 1 ? stem : `${stem}_${number}`;
      if (!designs.includes(`${name}.toml`)) return name;
    }
  }

  say(words, over = false) {
    setText(this.fault, words);
    this.fault.hidden = !words;
    this.over.hidden = !over;
    this.field.classList.toggle("wrong", Boolean(words));
    setText(this.told, "");
  }

  async write(over) {
    if (this.asking) return; // pressed twice, the file would be there already
    this.asking = true;
    try {
      await this.send(over);
    } finally {
      this.asking = false;
    }
  }

  async send(over) {
    const name = this.field.value.trim();
    if (!FILE_NAME.test(name)) return this.say("A file cannot have this name; allowed: letters, digits, blanks, _ and -, at most 60.");
    const file = `${name}.toml`;
    try {
      const { lessons } = await tell("/api/lesson/keep", { lesson: this.wants(), name: file, over, ...this.store.meant() });
      this.say("");
      setText(this.told, `Kept as ${file}; it is offered above, under Which lesson.`);
      this.kept(lessons);
    } catch (fault) {
      if (!(fault instanceof ApiFault)) throw fault;
      const there = !over && fault.faults.some(({ what }) => what.startsWith("there is a file of this name"));
      const mine = there && (await ask("/api/state")).lessons.includes(file);
      setText(this.over, `Write over ${file}`);
      this.say(mine ? `There is a lesson file ${file} already.` : fault.faults.map(sentence).join(" ") || fault.message, mine);
    }
    return undefined;
  }
}

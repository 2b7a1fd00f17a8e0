// What is written besides the moving pages, when the lesson is held, and for whom: students by name, or how many there are.
import { element, setText } from "./dom.js";
import { pick, set } from "./teach_pick.js";

const MOST_STUDENTS = 200;
const LONGEST_NAME = 60;

export class ForClass {
  /** `films`: rows to tick that are shown with the rest while films are chosen on the page. */
  constructor(films) {
    this.films = films;
    const pages = pick("checkbox", "lesson-pages", "", "Pages that move, always", true);
    pages.field.disabled = true;
    this.stills = pick("checkbox", "lesson-stills", "", "Chosen moments as pictures (SVG, PNG)", true);
    this.paper = pick("checkbox", "lesson-paper", "", "Hand-out with exercises; answers, questions and plan for you", true);
    this.day = element("input", { type: "date", id: "lesson-day", min: "2000-01-01", max: "2199-12-31" });
    this.count = element("input", { type: "text", inputMode: "numeric", id: "lesson-students", value: "0", autocomplete: "off" });
    this.names = element("textarea", { id: "lesson-names", rows: 5, autocomplete: "off", spellcheck: false });
    this.told = element("p", { className: "words", id: "lesson-names-words" });
    this.names.setAttribute("aria-describedby", this.told.id);
    const named = element("details", {}, element("summary", { textContent: "Students by name" }), element("label", { htmlFor: this.names.id, textContent: "Names, one on each line" }), this.names, this.told);
    this.own = element("p", { className: "words", hidden: true, textContent: "As the lesson file says, unless something is said here." });
    this.papers = element("div", { className: "papers" }, this.own,
      element("label", { className: "pick", htmlFor: this.count.id }, this.count, element("span", { textContent: "students who get a hand-out with numbers of their own" })), named,
      element("label", { className: "pick", htmlFor: this.day.id }, this.day, element("span", { textContent: "day of the lesson: the plan counts back from it" })));
    this.root = element("div", {}, set("What to write", [pages, this.stills, this.paper, ...films], "pieces"), element("fieldset", { className: "for" }, element("legend", { textContent: "For whom, and when" }), this.papers));
  }

  /** A lesson file says its films itself, and may say students and day. */
  plain(plain) {
    for (const { label } of this.films) label.hidden = !plain;
    this.own.hidden = plain;
  }

  /** Why it cannot be written as it is, shown at its field too; empty where it can. */
  wrong() {
    const paper = this.paper.field.checked;
    const names = this.listed();
    this.root.lastChild.hidden = !paper;
    this.count.disabled = names.length > 0;
    setText(this.told, names.length ? `${names.length} name${names.length > 1 ? "s" : ""}; they count in place of the number.` : "");
    const wrong = { count: paper && !names.length && this.number() === null, names: paper && misnamed(names), day: paper && !this.day.validity.valid };
    for (const [key, bad] of Object.entries(wrong)) {
      this[key].classList.toggle("wrong", Boolean(bad));
      if (bad) this[key].setAttribute("aria-invalid", "true");
      else this[key].removeAttribute("aria-invalid");
    }
    if (wrong.count) return `Students: a whole number from 0 to ${MOST_STUDENTS}.`;
    return wrong.names || (wrong.day ? "Day of the lesson: a whole date, or none." : "");
  }

  listed() {
    return this.names.value.split("\n").map((name) => name.trim()).filter(Boolean);
  }

  number() {
    const text = this.count.value.trim() || "0";
    return /^\d{1,3}$/.test(text) && Number(text) <= MOST_STUDENTS ? Number(text) : null;
  }

  wants() {
    const paper = this.paper.field.checked;
    const names = paper ? this.listed() : [];
    return { stills: this.stills.field.checked, paper, names, students: paper && !names.length ? this.number() : 0, date: (paper && this.day.value) || null };
  }

  /** Words of the command that ask for the same; null where names are given, which it reads from a file. */
  words() {
    const { stills, paper, names, students, date } = this.wants();
    if (names.length) return null;
    return [...(stills ? [] : ["--no-stills"]), ...(paper ? [] : ["--no-paper"]), ...(students ? ["--students", String(students)] : []), ...(date ? ["--date", date] : [])];
  }
}

/** What is wrong with the names; empty where nothing is. */
function misnamed(names) {
  if (names.length > MOST_STUDENTS) return `Students: at most ${MOST_STUDENTS} names.`;
  const long = names.find((name) => name.length > LONGEST_NAME);
  if (long) return `Students: at most ${LONGEST_NAME} letters in a name, “${long.slice(0, 20)}…” has more.`;
  const seen = new Set();
  for (const name of names) {
    if (seen.has(name.toLowerCase())) return `Students: “${name}” stands there twice; add something that tells them apart.`;
    seen.add(name.toLowerCase());
  }
  return "";
}

// From the design to a lesson: what is chosen here is written by a job into a folder of the project, and listed as soon as it
// stands. Scenes, languages and kinds of films are the program's, asked for when this is first seen.
import { ApiFault, ask } from "./api.js";
import { element, setText } from "./dom.js";
import { JobLine } from "./job.js";
import { Stale } from "./told.js";
import { listed } from "./written.js";

export const id = "teach";
export const title = "Teach it";

const BEGIN = "Write the lesson";
const WORDS = "Scenes computed from this design, for a class, a film or paper. Pages and papers take a minute or two, films a minute for each scene and more; you can go on meanwhile.";
const OLD = "This lesson was written from an earlier state of the design: its numbers may be others now. Write it anew before you teach it.";
const MOST_STUDENTS = 200;
const FILMS = { // names of the program, in words
  "1080p60": "Films for a projector (MP4, 1080 lines, 60 pictures a second)",
  "4k30": "Films to cut (MP4, 2160 lines, 30 pictures a second)",
  gif: "Small moving pictures (GIF)",
  frames: "Single pictures without background, numbered (PNG)",
};
const GROUPS = [ // a file stands in the first group that takes it
  ["To open in class", /^(lesson\.html|scenes\/.*)$/],
  ["To hand out", /^paper\//],
  ["For you alone: answers, questions, plan", /^teacher\//],
  ["Films", /^films\//],
  ["Chosen moments as pictures", /^stills\//],
  ["Captions, and what stands for a film in words", /^captions\//],
  ["Other files", /./],
];
const FRAMES = /^(frames\/[^/]+)\//;

export function mount(root, store) {
  document.head.append(element("link", { rel: "stylesheet", href: "/pages/view_teach.css" }));
  new Teach(root, store);
}

class Teach {
  constructor(root, store) {
    this.store = store;
    this.written = null;
    this.asked = 0;
    this.choice = element("div", { className: "choice" });
    this.told = element("p", { className: "fault", hidden: true });
    this.stale = new Stale(store, OLD);
    this.list = element("div", { className: "written" });
    this.line = new JobLine(store, "lesson", { begin: BEGIN, words: WORDS, wants: () => this.wants(), done: (job) => this.refresh(job) });
    this.line.root.firstChild.after(this.choice, this.told);
    root.append(this.line.root, this.stale.root, this.list);
    this.seen = new IntersectionObserver((rows) => rows.some((row) => row.isIntersecting) && this.load(), { rootMargin: "400px" });
    this.seen.observe(root);
    store.addEventListener("link", ({ detail: linked }) => linked && this.owed && this.load());
  }

  async load() {
    this.seen.disconnect();
    this.owed = false;
    try {
      this.choices = await ask("/api/lesson");
    } catch (fault) {
      if (!(fault instanceof ApiFault)) throw fault;
      this.owed = true;
      this.say(fault.message);
      return;
    }
    this.say("");
    this.put();
    this.show();
  }

  say(words) {
    this.told.textContent = words;
    this.told.hidden = !words;
  }

  put() {
    const { languages, films } = this.choices;
    const codes = Object.keys(languages);
    this.languages = codes.map((code, at) => pick("radio", "lesson-language", code, ownName(code), at === 0));
    this.scenes = Object.keys(languages[codes[0]]).map((name) => pick("checkbox", "lesson-scene", name, "", true));
    this.films = films.map((name) => pick("checkbox", "lesson-film", name, FILMS[name] ?? name, false));
    this.stills = pick("checkbox", "lesson-stills", "", "Chosen moments as pictures (SVG, PNG)", true);
    this.paper = pick("checkbox", "lesson-paper", "", "Hand-out with exercises; answers, questions and plan for you", true);
    this.students = element("input", { type: "text", inputMode: "numeric", id: "lesson-students", value: "0", autocomplete: "off" });
    const pages = pick("checkbox", "lesson-pages", "", "Pages that move, always", true);
    pages.field.disabled = true;
    this.choice.replaceChildren(
      set("Language", this.languages),
      set("Scenes", this.scenes, "scenes"),
      set("What to write", [pages, this.stills, this.paper, this.count(), ...this.films], "pieces"));
    this.choice.addEventListener("change", () => this.chosen());
    this.students.addEventListener("input", () => this.chosen());
    this.chosen();
  }

  count() {
    const label = element("label", { className: "pick", htmlFor: this.students.id }, this.students, "students who get numbers of their own in it");
    return { label };
  }

  /** What was chosen: titles follow the language, and what cannot be is said at once. */
  chosen() {
    const code = this.language();
    for (const { field, words } of this.scenes) {
      setText(words, this.choices.languages[code][field.value]);
      words.lang = code;
    }
    const students = this.paper.field.checked;
    this.students.disabled = !students;
    const none = !this.scenes.some(({ field }) => field.checked);
    const wrong = students && this.number() === null;
    this.students.classList.toggle("wrong", wrong);
    this.say(none ? "Choose at least one scene." : wrong ? `Students: a whole number from 0 to ${MOST_STUDENTS}.` : "");
    this.line.show();
  }

  language() {
    return this.languages.find(({ field }) => field.checked).field.value;
  }

  number() {
    const text = this.students.value.trim() || "0";
    return /^\d{1,3}$/.test(text) && Number(text) <= MOST_STUDENTS ? Number(text) : null;
  }

  /** What is asked of the job; null while it cannot be begun. */
  wants() {
    if (!this.scenes || !this.told.hidden) return null;
    const of = (rows) => rows.filter(({ field }) => field.checked).map(({ field }) => field.value);
    const paper = this.paper.field.checked;
    const lesson = { language: this.language(), scenes: of(this.scenes), films: of(this.films), stills: this.stills.field.checked, paper, students: paper ? this.number() : 0 };
    return { lesson };
  }

  async refresh(job) {
    const mine = ++this.asked;
    const file = this.store.state?.open?.file;
    const found = await ask("/api/results");
    if (mine !== this.asked) return;
    this.written = found.find((one) => one.command === "lesson" && one.design === file && one.files.length) ?? null;
    this.missing = [];
    this.stale.of(this.written);
    this.show();
    const result = job && await this.store.result(job.number); // where it cannot be had, the list stands all the same
    if (mine !== this.asked || !result) return;
    this.missing = result.not_shown;
    this.show();
  }

  show() {
    this.list.replaceChildren(...(this.written ? this.told_of(this.written) : []));
  }

  told_of({ folder, files }) {
    const frames = new Map();
    for (const [, place] of files.map((file) => FRAMES.exec(file)).filter(Boolean)) frames.set(place, (frames.get(place) ?? 0) + 1);
    const plain = files.filter((file) => !FRAMES.test(file));
    const [head, ...lists] = listed({ folder, files: plain }, GROUPS, this.names());
    const words = (text) => element("p", { className: "words", textContent: text });
    return [head, ...this.missing.map(([scene, why]) => words(`No picture of “${scene}”: ${why}`)), ...lists,
      ...[...frames].map(([place, count]) => words(`${count} numbered pictures in ${folder}/${place}`)),
      this.shared()];
  }

  /** How to show it to others: this page answers nobody else. A command breaks between words only. */
  shared() {
    const command = `lobewright lesson ${this.store.state.open.file} --out FOLDER --share`.split(" ");
    return element("p", { className: "words" }, "To show it in the local network, on the phones of a class too, write it by the command ",
      ...command.flatMap((word) => [element("code", { textContent: word }), " "]), "– this page itself answers this computer only.");
  }

  /** Scenes are named as they are in the chosen language. */
  names() {
    const names = { "lesson.html": "The whole lesson in one page" };
    if (!this.scenes) return names;
    for (const [name, words] of Object.entries(this.choices.languages[this.language()])) names[`scenes/${name}.html`] = words;
    return names;
  }
}

function pick(type, name, value, words, checked) {
  const field = element("input", { type, name, value, checked, id: `${name}-${value}` });
  const shown = element("span", { textContent: words });
  return { field, words: shown, label: element("label", { className: "pick", htmlFor: field.id }, field, shown) };
}

function set(words, rows, className = "") {
  return element("fieldset", { className }, element("legend", { textContent: words }), ...rows.map(({ label }) => label));
}

/** What a language is called by those who speak it. */
function ownName(code) {
  const name = new Intl.DisplayNames([code], { type: "language" }).of(code);
  return name.charAt(0).toUpperCase() + name.slice(1);
}

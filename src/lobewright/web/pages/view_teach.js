// From the design to a lesson: what is chosen here, or in a lesson file of the folder, is written by a job into a folder of the
// project, and listed as soon as it stands. Scenes, languages and kinds of films are the program's, asked for when this is first
// seen.
import { ApiFault, ask } from "./api.js";
import { element, setText } from "./dom.js";
import { JobLine } from "./job.js";
import { ForClass } from "./teach_class.js";
import { LessonFiles } from "./teach_file.js";
import { KeptLesson } from "./teach_keep.js";
import { PlainLesson } from "./teach_plain.js";
import { Stale } from "./told.js";
import { listed } from "./written.js";

export const id = "teach";
export const title = "Teach it";

const BEGIN = "Write the lesson";
const WORDS = "Scenes computed from this design, for a class, a film or paper. Pages and papers take a minute or two, films a minute for each scene and more; you can go on meanwhile.";
const OLD = "This lesson was written from an earlier state of the design: its numbers may be others now. Write it anew before you teach it.";
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
    this.told.setAttribute("role", "alert");
    this.stale = new Stale(store, OLD);
    this.list = element("div", { className: "written" });
    this.line = new JobLine(store, "lesson", { begin: BEGIN, words: WORDS, wants: () => this.wants(), done: (job) => this.refresh(job) });
    this.line.root.firstChild.after(this.choice, this.told);
    this.kept = new KeptLesson(store, () => this.wants()?.lesson, (files) => this.files.list(files));
    this.share = element("details", { className: "group" }, element("summary", { textContent: "Show it to a class, in the local network" }));
    this.kept.root.hidden = this.share.hidden = true;
    root.append(this.line.root, this.stale.root, this.list, this.kept.root, this.share);
    this.seen = new IntersectionObserver((rows) => rows.some((row) => row.isIntersecting) && this.load(), { rootMargin: "400px" });
    this.seen.observe(root);
    store.addEventListener("link", ({ detail: linked }) => linked && this.owed && this.load());
    store.addEventListener("state", () => this.plain && this.chosen());
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
    setText(this.told, words);
    this.told.hidden = !words;
  }

  put() {
    this.plain = new PlainLesson(this.store, this.choices, () => this.chosen());
    this.class = new ForClass(this.plain.films);
    this.files = new LessonFiles(this.store, () => this.chosen());
    this.choice.replaceChildren(this.files.root, this.plain.root, this.class.root);
    this.choice.addEventListener("change", () => this.chosen());
    this.choice.addEventListener("input", () => this.chosen());
    this.files.list(this.choices.files);
    this.kept.root.hidden = false;
    this.chosen();
  }

  /** What was chosen: what cannot be is said at once. */
  chosen() {
    if (!this.files) return;
    const plain = !this.files.name;
    this.plain.root.hidden = !plain;
    this.class.plain(plain);
    const wrong = this.class.wrong(); // asked in any case, for it marks the fields
    this.say((plain && this.plain.wrong()) || wrong);
    this.line.show();
    this.kept.show();
    this.shared();
  }

  /** What is asked of the job; null while it cannot be begun. */
  wants() {
    if (!this.files || !this.told.hidden || (this.files.name && !this.files.ready)) return null;
    const { name: file } = this.files;
    return { lesson: { ...(file ? { file } : this.plain.wants()), ...this.class.wants() } };
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
      ...[...frames].map(([place, count]) => words(`${count} numbered pictures in ${folder}/${place}`))];
  }

  /** How to show it to others: this page answers nobody else. The command asks for what is chosen here. */
  shared() {
    const { open, folder } = this.store.state ?? {};
    const file = this.files.name;
    const ready = open && (!file || this.files.ready);
    this.share.hidden = !ready;
    if (!ready) return;
    const own = file ? [] : this.plain.words();
    const rest = this.class.words();
    const words = (text) => element("p", { className: "words", textContent: text });
    const above = own && rest
      ? words(`This page answers this computer only. In the folder “${folder}”, this command writes what is chosen here and then shows it in the local network:`)
      : words(`Names, takes and moments are in no command: ${file ? "put the names into the lesson file" : "keep these choices as a lesson file"} first. Then, in the folder “${folder}”:`);
    const line = ["lobewright", "lesson", own && rest ? quoted(file || open.file) : quoted(file || "LESSON_FILE"), "--out", quoted(`${open.file.replace(/\.toml$/, "")}_lesson`),
      ...(own ?? []), ...(rest ?? []), "--share"];
    const command = element("p", { className: "command" }, ...line.flatMap((word) => [element("code", { textContent: word }), " "]));
    const who = words("From then on everybody in that network can read the lesson's pages, films and hand-outs, without a password, until Ctrl+C is pressed there. What is for you alone is not shown. The command says address and names what it shows; a code for telephones stands beside it.");
    this.share.replaceChildren(this.share.firstChild, above, command, who);
  }

  /** Scenes are named as they are in the chosen language. */
  names() {
    const names = { "lesson.html": "The whole lesson in one page" };
    if (!this.plain) return names;
    const language = this.files.found?.language ?? this.plain.language();
    for (const [name, words] of Object.entries(this.choices.languages[language])) names[`scenes/${name}.html`] = words;
    return names;
  }
}

/** A file's name as one word of a command. */
const quoted = (name) => (name.includes(" ") ? `"${name}"` : name);

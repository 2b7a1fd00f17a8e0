// A lesson chosen on the page: its language, its scenes with their takes and moments, its films.
import { element, setText } from "./dom.js";
import { SceneMoments } from "./teach_moments.js";
import { pick, set } from "./teach_pick.js";

const FILMS = { // names of the program, in words
  "1080p60": "Films for a projector (MP4, 1080 lines, 60 pictures a second)",
  "4k30": "Films to cut (MP4, 2160 lines, 30 pictures a second)",
  gif: "Small moving pictures (GIF)",
  frames: "Single pictures without background, numbered (PNG)",
};

export class PlainLesson {
  constructor(store, { languages, films }, chosen) {
    this.titles = languages;
    const codes = Object.keys(languages);
    this.languages = codes.map((code, at) => pick("radio", "lesson-language", code, ownName(code), at === 0));
    const asked = () => ({ language: this.language(), ...store.meant() });
    this.scenes = Object.keys(languages[codes[0]]).map((name) => ({ ...pick("checkbox", "lesson-scene", name, "", true), moments: new SceneMoments(name, asked, chosen) }));
    this.films = films.map((name) => pick("checkbox", "lesson-film", name, FILMS[name] ?? name, false));
    const rows = this.scenes.map(({ label, moments }) => ({ label: element("div", { className: "scene" }, label, moments.root) }));
    this.root = element("div", {}, set("Language", this.languages), set("Scenes", rows, "scenes"));
    this.root.addEventListener("change", () => this.chosen());
    store.addEventListener("state", ({ detail: { open } }) => {
      if (open?.file !== this.file) for (const { moments } of this.scenes) moments.leave();
      this.file = open?.file;
    });
    this.file = store.state?.open?.file;
    this.chosen();
  }

  /** Titles follow the language. */
  chosen() {
    const code = this.language();
    for (const { field, words, moments } of this.scenes) {
      const title = this.titles[code][field.value];
      setText(words, title);
      words.lang = code;
      moments.named(title);
      moments.root.hidden = !field.checked;
      if (moments.root.open && field.checked) moments.load();
    }
  }

  language() {
    return this.languages.find(({ field }) => field.checked).field.value;
  }

  /** Why it cannot be written as it is; empty where it can. */
  wrong() {
    const ticked = this.scenes.filter(({ field }) => field.checked);
    if (!ticked.length) return "Choose at least one scene.";
    const bare = ticked.find(({ moments }) => moments.none);
    return bare ? `Choose at least one take of “${bare.words.textContent}”, or leave the scene out.` : "";
  }

  wants() {
    const of = (rows) => rows.filter(({ field }) => field.checked).map(({ field }) => field.value);
    const closer = this.scenes.filter(({ field }) => field.checked).map(({ field, moments }) => [field.value, moments.choice()]);
    return { language: this.language(), scenes: of(this.scenes), films: of(this.films), choices: Object.fromEntries(closer.filter(([, choice]) => choice)) };
  }

  /** Words of the command that ask for the same; null where only a lesson file can. */
  words() {
    const { language, scenes, films, choices } = this.wants();
    if (Object.keys(choices).length) return null;
    const some = scenes.length < this.scenes.length ? scenes : [];
    return [...(language === "en" ? [] : ["--language", language]), ...some.flatMap((name) => ["--scene", name]), ...films.flatMap((name) => ["--film", name])];
  }
}

/** What a language is called by those who speak it. */
export function ownName(code) {
  const name = new Intl.DisplayNames([code], { type: "language" }).of(code);
  return name.charAt(0).toUpperCase() + name.slice(1);
}

// Takes and moments of one scene: which are shown, which are kept as pictures, where films stand still. They follow from the
// design, so they are asked for when somebody unfolds them, and again when the design or the language is another by then.
import { ApiFault, ask } from "./api.js";
import { element, setText } from "./dom.js";
import { pick, set } from "./teach_pick.js";

export class SceneMoments {
  /** `asked()`: what they depend on beside the scene, { language, file, revision }; `chosen()` is called when a tick changes. */
  constructor(name, asked, chosen) {
    this.name = name;
    this.asked = asked;
    this.takes = [];
    this.rows = [];
    this.told = element("p", { className: "words" });
    this.body = element("div");
    this.summary = element("summary", { textContent: "Takes and moments" });
    this.root = element("details", {}, this.summary, this.told, this.body);
    this.root.addEventListener("toggle", () => this.root.open && this.load());
    this.body.addEventListener("change", () => chosen());
  }

  /** The scene's title, for those who hear the summary alone. */
  named(title) {
    this.summary.setAttribute("aria-label", `Takes and moments: ${title}`);
  }

  /** Another design has other takes: what was chosen of the one before is nothing for it. */
  leave() {
    this.root.open = false;
    this.loaded = undefined;
    this.takes = this.rows = [];
    this.body.replaceChildren();
  }

  async load() {
    const { language, file, revision } = this.asked();
    const wanted = JSON.stringify([language, file, revision]);
    if (wanted === this.loaded) return;
    this.loaded = wanted;
    this.told.setAttribute("role", "status"); // not before: a page has many scenes
    setText(this.told, this.name === "kinds" ? "Three drives are worked out, which takes half a minute …" : "Worked out from the design …");
    try {
      const found = await ask(`/api/lesson/moments?${new URLSearchParams({ scene: this.name, language })}`);
      if (wanted === this.loaded) this.show(found, language);
    } catch (fault) {
      if (!(fault instanceof ApiFault)) throw fault;
      if (wanted !== this.loaded) return;
      this.loaded = undefined;
      setText(this.told, fault.message);
    }
  }

  /** Ticks that were set stay where their take or moment is still there. */
  show({ takes, moments, not_shown: why }, language) {
    const off = new Set([...this.takes, ...this.rows.map(({ picture }) => picture)].filter(({ field }) => !field.checked).map(({ field }) => field.value));
    const stops = new Set(this.choice()?.stops);
    setText(this.told, why ? `No picture of it for this design: ${why}` : "");
    this.takes = takes.map(({ name, title }) => pick("checkbox", `lesson-take-${this.name}`, name, title, !off.has(name)));
    this.rows = moments.map(({ name, title }) => ({
      title,
      picture: box(`lesson-picture-${this.name}`, name, `${title}: as a picture`, !off.has(name)),
      stop: box(`lesson-stop-${this.name}`, name, `${title}: films stand still`, stops.has(name)),
    }));
    const head = element("tr", {}, ...["Moment", "As a picture", "Films stand still"].map((words) => element("th", { scope: "col", textContent: words })));
    const lines = this.rows.map(({ title, picture, stop }) => element("tr", {}, element("th", { scope: "row", textContent: title, lang: language }),
      ...[picture, stop].map(({ field }) => element("td", {}, field))));
    const several = takes.length > 1 ? [set("Takes that are shown", this.takes)] : [];
    for (const { words } of this.takes) words.lang = language;
    this.body.replaceChildren(...several, ...(lines.length ? [element("table", {}, element("thead", {}, head), element("tbody", {}, ...lines))] : []));
  }

  /** Whether no take is left to be shown. */
  get none() {
    return this.takes.length > 0 && !this.takes.some(({ field }) => field.checked);
  }

  /** What differs from the usual, that is all takes, every moment as a picture, no stops; null where nothing does. */
  choice() {
    const ticked = (fields) => fields.filter(({ field }) => field.checked).map(({ field }) => field.value);
    const [takes, stills, stops] = [this.takes, this.rows.map(({ picture }) => picture), this.rows.map(({ stop }) => stop)].map(ticked);
    const all = { takes: takes.length === this.takes.length, stills: stills.length === this.rows.length };
    if (all.takes && all.stills && !stops.length) return null;
    return { takes: all.takes ? [] : takes, stills: all.stills ? null : stills, stops };
  }
}

function box(name, value, words, checked) {
  const field = element("input", { type: "checkbox", name, value, checked });
  field.setAttribute("aria-label", words);
  return { field };
}

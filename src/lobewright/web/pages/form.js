// The design as a form: a table of the file is a group, a key an entry (entry.js). Groups and entries that few designs say
// stand behind a fold. It follows the file: what comes from elsewhere is shown without moving the focus or what is being typed.
import { ApiFault, ask } from "./api.js";
import { element, sentence, setText, worded } from "./dom.js";
import { Entry, plain } from "./entry.js";

const ROOM_TO_OPEN = "(min-width: 62rem)"; // narrower pages begin with all groups folded
const ROWS = { duty: "One more step of work", bearings: "More bearings", bolts: "More bolts", belts: "One more belt", motors: "One more motor" };

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
    this.asked = 0;
    this.refused = null; // what was asked last of a table and not done: place of its note, words; no look wipes it
    this.opened = new Set(matchMedia(ROOM_TO_OPEN).matches ? ["", "flexible_ring", "generator"] : []); // places of groups that stand open
    this.lists = element("div", { hidden: true });
    this.body = element("div");
    this.title = element("h2", { id: "form-title", textContent: "The design" });
    store.addEventListener("stepped", () => this.leave());
    root.replaceChildren(this.title, this.body, this.lists);
  }

  async refresh() {
    const { open } = this.store.state;
    this.root.hidden = !open;
    if (!open) {
      this.shape = "";
      return;
    }
    const mine = ++this.asked;
    let form;
    try {
      form = await ask("/api/form");
    } catch (fault) {
      if (!(fault instanceof ApiFault)) throw fault;
      if (mine !== this.asked) return;
      this.shape = "";
      this.entries.clear();
      this.body.replaceChildren(element("p", { className: "fault", textContent: `${fault.message} Mend the file by hand, or take back the last change.` }));
      return;
    }
    if (mine === this.asked) this.show(form, open.file);
  }

  show({ sections, known, workshop, revision }, file) {
    if (file !== this.file || revision !== this.revision) this.refused = null;
    this.revision = revision;
    const shape = JSON.stringify([file, sections.map((one) => [one.place, one.title, one.given, one.source, one.chosen, one.entries.map((entry) => entry.place)])]);
    if (shape !== this.shape) this.build(sections, workshop, file !== this.file);
    this.shape = shape;
    this.file = file;
    setText(this.title, workshop ? "The workshop" : "The design");
    this.names(known);
    for (const section of sections) {
      for (const entry of section.entries) {
        const shown = this.entries.get(entry.place);
        shown?.show(entry);
        shown?.names(known);
      }
    }
    this.faults(this.store.look && !this.store.look.ok ? this.store.look.faults : []);
  }

  /** What was typed and refused is gone with the change that was taken back. */
  leave() {
    for (const entry of this.entries.values()) if (entry.refused) entry.leave();
  }

  /** Lists of known names, which fields offer while one types. */
  names(known) {
    const text = JSON.stringify(known);
    if (text === this.known) return;
    this.known = text;
    this.lists.replaceChildren(...Object.entries(known).map(([kind, rows]) => element("datalist", { id: `known-${kind}` },
      ...rows.map(([value, words]) => element("option", { value, label: words ? `${value}: ${words}` : value })))));
  }

  build(sections, workshop, fresh) {
    const scrollTop = fresh ? 0 : this.root.scrollTop;
    const focused = this.root.contains(document.activeElement) ? document.activeElement.id : "";
    const before = fresh ? new Map() : this.entries;
    this.entries = new Map();
    const rare = sections.filter((one) => one.rare && !one.given);
    const usual = sections.filter((one) => !rare.includes(one));
    const groups = usual.map((one) => this.group(one, before));
    if (rare.length) groups.push(this.fold("more-tables", "More that may be said", rare.map((one) => this.group(one, before))));
    this.body.replaceChildren(...groups, element("div", { className: "adds" }, ...this.adds(workshop)));
    this.root.scrollTop = scrollTop;
    if (focused) document.getElementById(focused)?.focus({ preventScroll: true });
  }

  fold(key, words, parts) {
    const box = element("details", { className: "group", open: this.opened.has(key) }, element("summary", { id: `group-${key}`, textContent: words }), ...parts);
    box.addEventListener("toggle", () => this.opened[box.open ? "add" : "delete"](key));
    return box;
  }

  group(section, before) {
    const { place, given, source, needed, kinds, entries } = section;
    const parts = [];
    if (section.words) parts.push(element("p", { className: "words", textContent: plain(section.words) }));
    if (kinds.length) parts.push(this.kinds(section));
    if (source) parts.push(this.fromWorkshop(source));
    const empty = !given && !source && entries.some((one) => one.needed);
    if (!kinds.length) parts.push(this.note(place));
    const shown = empty ? [] : entries;
    const make = (entry) => this.entry(entry, before);
    parts.push(...shown.filter((one) => !one.rare).map(make));
    const rare = shown.filter((one) => one.rare);
    const all = rare.length === shown.length;
    if (rare.length && all) parts.push(...rare.map(make));
    else if (rare.length) parts.push(this.fold(`more-${place}`, "More", rare.map(make)));
    if (empty && !kinds.length) parts.push(this.button("Put it in", place, "add"));
    if (given && !needed && place) parts.push(this.button("Take it out", place, "remove"));
    const box = this.fold(place, section.title, parts);
    if (source) box.firstChild.append(element("small", { textContent: ` from ${source}` }));
    return box;
  }

  entry(entry, before) {
    const made = new Entry(entry, this.store);
    made.carry(before.get(entry.place));
    this.entries.set(entry.place, made);
    return made.root;
  }

  fromWorkshop(file) {
    const open = element("button", { type: "button", className: "quiet", textContent: `Open ${file}` });
    open.addEventListener("click", () => this.try(() => this.store.open(file), "process"));
    return element("div", { className: "adds" },
      element("p", { className: "words", textContent: `These values stand in ${file}, which other designs may use too. What you change here is kept in this design only.` }), open);
  }

  button(words, place, change) {
    const button = element("button", { type: "button", id: `${change}-${place}`, className: "quiet", textContent: words });
    button.addEventListener("click", () => this.try(() => this.store.table(place, change), place));
    return button;
  }

  kinds({ place, given, source, chosen, kinds, kind_key: key }) {
    const id = `kind-${place}`;
    const select = element("select", { id });
    const now = given || source ? chosen : "";
    if (!kinds.includes(now)) select.append(element("option", { value: "", textContent: now ? `${now}?` : "none yet" }));
    for (const kind of kinds) select.append(element("option", { value: kind, textContent: kind.replaceAll("_", " "), selected: kind === now }));
    select.addEventListener("change", async () => {
      if (!(await this.try(() => this.store.table(place, "kind", select.value), place))) select.value = now;
    });
    const note = this.note(place);
    select.setAttribute("aria-describedby", note.id);
    return element("div", { className: "entry choice" }, element("label", { htmlFor: id, textContent: worded(key) }), element("div", { className: "line" }, select), note);
  }

  note(place) {
    const note = element("p", { className: "fault table-fault", id: `fault-table-${place}`, hidden: true });
    note.setAttribute("role", "status");
    note.dataset.place = place;
    return note;
  }

  /** Tables that may stand several times. */
  adds(workshop) {
    const keys = Object.keys(ROWS).filter((key) => (key === "duty") !== workshop);
    return [...keys.map((key) => this.button(ROWS[key], key, "add")), this.note("rows")];
  }

  /** Whether it was done; where not, the reason stands in the group until the design is another. */
  async try(act, place) {
    this.refused = null;
    try {
      await act();
      return true;
    } catch (fault) {
      if (!(fault instanceof ApiFault)) throw fault;
      const note = document.getElementById(`fault-table-${place}`) ?? document.getElementById("fault-table-rows");
      this.refused = { place: note.dataset.place, words: `${fault.faults.map(sentence).join(" ") || fault.message} Nothing was changed.` };
      setText(note, this.refused.words);
      note.hidden = false;
      return false;
    }
  }

  /** Faults of the last look stand beside the entries that they name, or in their group. */
  faults(rows) {
    for (const entry of this.entries.values()) entry.fault(rows.filter((row) => (row.field || row.place) === entry.place).map(sentence).join(" "));
    for (const note of this.root.querySelectorAll(".table-fault")) {
      const { place } = note.dataset;
      const looked = rows.filter((row) => row.place && [place, `${place}.kind`, `${place}.form`].includes(row.place)).map(sentence).join(" ");
      const words = this.refused?.place === place ? this.refused.words : looked;
      setText(note, words);
      note.hidden = !words;
    }
    for (const box of this.root.querySelectorAll("details.group")) box.classList.toggle("has-fault", Boolean(box.querySelector(".fault:not([hidden])")));
  }
}

// What follows from the design: the numbers, then each check with its sentence, the working behind it and what would help.
import { ApiFault, tell } from "./api.js";
import { element, figure, placeWords, sentence, setText } from "./dom.js";
import { MARKS, WORDS, doThis } from "./told.js";

const CHANGED = 409; // another design, or another state of it, is open than was meant

export function mountJudged(root, store) {
  const judged = new Judged(root, store);
  store.addEventListener("look", ({ detail }) => judged.show(detail));
  store.addEventListener("state", () => judged.forget());
  store.addEventListener("owed", () => judged.old());
}

class Judged {
  constructor(root, store) {
    this.store = store;
    this.rows = new Map(); // headline key → cells
    this.checks = new Map(); // verdict name → Check
    this.stale = element("p", { className: "words", hidden: true, textContent: "While you move: looked at coarsely." });
    this.owed = element("p", { className: "words", role: "status", hidden: true, textContent: "Of the state before: the program could not work out what follows now. It is asked again." });
    this.faults = element("div", { className: "faults", role: "alert", hidden: true });
    this.mend = element("div", { className: "answer", hidden: true });
    this.mend.setAttribute("aria-live", "polite");
    this.none = element("p", { className: "words", hidden: true, textContent: "This file says what is owned and measured; designs that name it use it. Choose a design above to see a drive." });
    this.table = element("dl", { className: "numbers" });
    this.list = element("div", { className: "checks" });
    this.cautions = element("ul");
    const careful = element("details", { className: "group" }, element("summary", { textContent: "Before you build or run it" }), this.cautions);
    this.found = element("div", {}, this.table, element("h3", { textContent: "Checks" }), this.list, careful);
    root.replaceChildren(element("h2", { id: "judged-title", textContent: "What follows" }), this.faults, this.mend, this.none, this.stale, this.owed, this.found);
  }

  show(look) {
    if (look.file !== this.file) this.file = look.ok ? look.file : this.clear();
    this.forget();
    this.owed.hidden = true;
    this.stale.hidden = !look.coarse || !look.ok;
    this.found.classList.toggle("old", !look.ok);
    const wrong = look.ok ? [] : look.faults;
    this.faults.hidden = !wrong.length;
    this.refuse(wrong, look.workshop);
    this.found.hidden = !look.ok && !this.rows.size;
    this.none.hidden = !look.workshop;
    if (!look.ok) return;
    this.numbers(look.headlines);
    this.verdicts(look.verdicts);
    const cautions = JSON.stringify(look.cautions);
    if (look.coarse || cautions === this.cautious) return;
    this.cautious = cautions;
    this.cautions.replaceChildren(...look.cautions.map((text) => element("li", { textContent: text })));
  }

  /** A look at what is kept now could not be had. */
  old() {
    this.stale.hidden = true;
    this.owed.hidden = !this.rows.size;
    this.found.classList.add("old");
  }

  /** Answers about another design, or another state of it, help no more. */
  forget() {
    for (const check of this.checks.values()) check.forget();
  }

  /** Another design that cannot be built has no last good numbers here. */
  clear() {
    this.rows.clear();
    this.checks.clear();
    this.table.replaceChildren();
    this.list.replaceChildren();
    return "";
  }

  /** Why it cannot be built; told anew only where it is something else. */
  refuse(faults, workshop) {
    const told = JSON.stringify([faults, this.rows.size > 0]);
    if (told === this.told) return;
    this.told = told;
    const above = workshop ? "This is not right yet." : this.rows.size ? "This cannot be built; what stands below is the last that could." : "This cannot be built.";
    this.faults.replaceChildren(element("p", { className: "strong", textContent: above }), ...faults.map(toldAt));
    this.mend.replaceChildren(...this.remedies(faults));
    this.mend.hidden = !this.mend.childElementCount;
  }

  /** Edits that were tried and make it a drive again, each once. */
  remedies(faults) {
    const found = new Map(faults.filter(({ edits }) => edits).map((fault) => [JSON.stringify(fault.edits), fault]));
    return [...found.values()].flatMap(({ edits, remedy }) => [element("p", { textContent: remedy }), doThis(this.store, edits, remedy)]);
  }

  numbers(headlines) {
    if (headlines.map((row) => row.key).join() !== [...this.rows.keys()].join()) {
      this.rows.clear();
      this.table.replaceChildren();
      for (const row of headlines) {
        const value = element("dd");
        value.dataset.number = row.key;
        this.table.append(element("div", {}, element("dt", { textContent: row.title }), value));
        this.rows.set(row.key, value);
      }
    }
    for (const row of headlines) {
      const cell = this.rows.get(row.key);
      setText(cell, row.text.replace(/^-/, "−"));
    }
  }

  verdicts(verdicts) {
    if (verdicts.map((row) => row.name).join() !== [...this.checks.keys()].join()) {
      this.checks.clear();
      for (const row of verdicts) this.checks.set(row.name, new Check(row.name, this.store));
      this.list.replaceChildren(...[...this.checks.values()].map((check) => check.root));
    }
    for (const row of verdicts) this.checks.get(row.name).show(row);
  }
}

/** A fault, with the way to the entry that it is about. */
function toldAt(fault) {
  const place = fault.place ? element("a", { href: `#entry-${fault.place}`, textContent: fault.where ?? placeWords(fault.place) }) : "";
  if (place) {
    place.addEventListener("click", (event) => {
      const field = document.getElementById(`entry-${fault.field ?? fault.place}`) ?? document.getElementById(`kind-${fault.place.replace(/\.(kind|form)$/, "")}`);
      if (!field) return;
      event.preventDefault();
      for (let box = field.closest("details"); box; box = box.parentElement.closest("details")) box.open = true;
      field.focus();
    });
  }
  const found = fault.value ? ` (found ${fault.value})` : "";
  return element("p", {}, place, place ? `${found}: ` : "", sentence(fault));
}

class Check {
  constructor(name, store) {
    this.name = name;
    this.store = store;
    this.mark = element("span", { className: "mark" });
    this.title = element("span", { className: "title" });
    this.number = element("span", { className: "number" });
    this.summary = element("summary", {}, this.mark, this.title, this.number);
    this.sentence = element("p");
    this.working = element("p", { className: "words" });
    this.help = element("button", { type: "button", className: "quiet", textContent: "What would help?" });
    this.help.addEventListener("click", () => this.ask());
    this.meant = null; // design and revision that the answer is about
    this.answer = element("div", { className: "answer" });
    this.answer.setAttribute("aria-live", "polite");
    this.root = element("details", { className: "check" }, this.summary, this.sentence, this.working, this.help, this.answer);
    this.root.dataset.verdict = name;
  }

  show(row) {
    this.root.dataset.state = row.state;
    setText(this.mark, MARKS[row.state]);
    this.mark.setAttribute("aria-label", WORDS[row.state]);
    this.mark.setAttribute("role", "img");
    setText(this.title, row.title);
    this.number.textContent = row.value === null ? WORDS[row.state] : `${figure(row.value)} ${row.unit} (${row.bound} ${figure(row.limit)})`;
    this.sentence.textContent = row.sentence;
    this.working.textContent = [row.working.equation, row.working.numbers, ...row.working.sources].filter(Boolean).join(" · ");
    this.help.hidden = row.state !== "fail" && row.state !== "warn";
  }

  async apply(edits) {
    try {
      await this.store.edit(edits);
    } catch (fault) {
      if (!(fault instanceof ApiFault)) throw fault;
      this.answer.textContent = fault.message;
    }
  }

  forget() {
    if (!this.meant || this.current(this.meant)) return;
    this.meant = null;
    this.answer.replaceChildren();
  }

  current({ file, revision }) {
    const now = this.store.meant();
    return now.file === file && now.revision === revision;
  }

  async ask() {
    const meant = this.meant = this.store.meant();
    this.answer.textContent = "Trying edits …";
    try {
      const { edits, sentence } = await tell("/api/advice", { verdict: this.name, ...meant });
      if (this.meant !== meant || !this.current(meant)) return; // of a state that is gone
      if (!edits?.length) {
        this.answer.textContent = "No single edit that was tried makes this hold without failing something else.";
        return;
      }
      const apply = element("button", { type: "button", textContent: "Do this" });
      apply.addEventListener("click", () => this.apply(edits));
      this.answer.replaceChildren(element("p", { textContent: `Tried, and it holds: ${sentence}.` }), apply);
    } catch (fault) {
      if (!(fault instanceof ApiFault)) throw fault;
      if (fault.status === CHANGED) {
        this.answer.replaceChildren();
        await this.store.refused(fault);
      } else if (this.meant === meant) this.answer.textContent = fault.message;
    }
  }
}

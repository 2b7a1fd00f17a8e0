// Two drives side by side: the open one as it is being changed, and one that stays: a state of it that is kept here, or another
// design of the folder. Numbers that differ are told with their difference.
import { ApiFault, tell } from "./api.js";
import { element, figure, setText } from "./dom.js";

export const id = "compare";
export const title = "Side by side";

const STATE_WORDS = { pass: "holds", warn: "holds barely", fail: "fails", "not made": "not checked" };
const MARKS = { pass: "✓", warn: "!", fail: "✕", "not made": "–" };

export function mount(root, store) {
  new Compare(root, store);
}

class Compare {
  constructor(root, store) {
    this.store = store;
    this.beside = null; // { look, name, file }
    this.chosen = 0; // counts choices, so that a late answer to an earlier one is not shown after a later one
    this.keep = element("button", { type: "button", textContent: "Keep this state beside" });
    this.keep.addEventListener("click", () => this.put(store.look, `${store.look.name}, as kept at ${new Date().toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" })}`, ""));
    this.files = element("select", {});
    this.files.addEventListener("change", () => this.choose(this.files.value));
    this.away = element("button", { type: "button", className: "quiet", textContent: "Put it away", hidden: true });
    this.away.addEventListener("click", () => this.put(null, "", ""));
    this.fault = element("p", { className: "fault", hidden: true });
    this.fault.setAttribute("role", "alert");
    this.note = element("p", { className: "words" });
    this.head = element("thead");
    this.table = element("table", { hidden: true, className: "compared" }, element("caption", { className: "unseen", textContent: "The open drive beside another one" }), this.head);
    const wide = element("div", { className: "wide", tabIndex: 0 }, this.table);
    wide.setAttribute("role", "group");
    wide.setAttribute("aria-label", "Figures side by side");
    root.append(element("p", { className: "words", textContent: "Keep the drive as it stands now, or choose another one, and change numbers: both stay in sight." }),
      element("div", { className: "adds" }, this.keep, element("label", { className: "inline" }, "or beside it ", this.files), this.away), this.fault, this.note, wide);
    store.addEventListener("state", ({ detail }) => this.list(detail));
    store.addEventListener("look", ({ detail }) => this.show(detail));
  }

  list({ open, designs, workshops, lessons }) {
    const others = designs.filter((file) => file !== open?.file && !workshops.includes(file) && !lessons.includes(file));
    const wanted = JSON.stringify([others, this.beside?.file]);
    if (wanted === this.listed) return;
    this.listed = wanted;
    this.files.replaceChildren(element("option", { value: "", textContent: "no other design" }),
      ...others.map((file) => element("option", { value: file, textContent: file.replace(/\.toml$/, ""), selected: file === this.beside?.file })));
  }

  async choose(file) {
    if (!file) return this.put(null, "", "");
    const mine = ++this.chosen;
    try {
      const look = await tell("/api/look", { edits: [], coarse: false, beside: file });
      if (mine !== this.chosen) return undefined;
      if (look.ok) return this.put(look, look.name, file);
      this.say(look.workshop ? "This is a workshop file, not a drive." : look.faults.map((one) => one.sentence).join(" "));
    } catch (fault) {
      if (!(fault instanceof ApiFault)) throw fault;
      if (mine !== this.chosen) return undefined;
      this.say(fault.message);
    }
    this.files.value = this.beside?.file ?? "";
    return undefined;
  }

  say(words) {
    setText(this.fault, words);
    this.fault.hidden = !words;
  }

  put(look, name, file) {
    this.chosen += 1;
    this.say("");
    this.beside = look && { look, name, file };
    this.away.hidden = !look;
    this.table.hidden = !look;
    this.files.value = file;
    if (look) this.show(this.store.look);
    else setText(this.note, "");
  }

  show(look) {
    this.keep.disabled = !look?.ok || look.coarse;
    if (!this.beside || !look) return;
    const { look: other, name } = this.beside;
    setText(this.note, `Beside: ${name}.${look.ok ? "" : " The open design cannot be built as it stands; its column is the last that could."}`);
    if (!look.ok) return;
    this.head.replaceChildren(element("tr", {}, ...["Now", "Beside", "Difference"].map((words) => element("th", { scope: "col", textContent: words }))));
    const rows = [row("All checks", state(look.state), state(other.state), "")];
    for (const [one, two] of paired(look.headlines, other.headlines, "key")) rows.push(numbers(one, two));
    for (const [one, two] of paired(look.verdicts, other.verdicts, "name")) rows.push(row((one ?? two).title, verdict(one), verdict(two), difference(one?.value, two?.value, one?.unit, two?.unit)));
    this.table.replaceChildren(this.table.caption, this.head, ...rows);
  }
}

/** Rows of both by their key: those of the first in its order, then those that only the second has. */
function paired(ours, theirs, key) {
  const left = new Map(theirs.map((one) => [one[key], one]));
  const rows = ours.map((one) => {
    const two = left.get(one[key]);
    left.delete(one[key]);
    return [one, two];
  });
  return [...rows, ...[...left.values()].map((two) => [undefined, two])];
}

function numbers(one, two) {
  return row((one ?? two).title, [one?.text ?? "–"], [two?.text ?? "–"], difference(one?.value, two?.value, one?.unit, two?.unit));
}

/** What is compared stands above its three figures, so that they find room on a narrow page. */
function row(words, ours, theirs, differs) {
  const made = element("tbody", {}, element("tr", {}, element("th", { scope: "rowgroup", colSpan: 3, textContent: words })),
    element("tr", {}, cell(ours), cell(theirs), element("td", { textContent: differs })));
  made.className = differs ? "differs" : "";
  return made;
}

function cell([words, verdictState]) {
  const made = element("td");
  if (verdictState) {
    made.dataset.state = verdictState;
    const mark = element("span", { className: "mark", textContent: MARKS[verdictState] });
    mark.setAttribute("role", "img");
    mark.setAttribute("aria-label", STATE_WORDS[verdictState]);
    made.append(mark, " ");
  }
  made.append(words.replace(/^-/, "−"));
  return made;
}

const state = (name) => [STATE_WORDS[name], name];

function verdict(row) {
  if (!row) return ["–", ""];
  return [row.value === null ? STATE_WORDS[row.state] : `${figure(row.value)} ${row.unit}`, row.state];
}

/** The open one less the other; empty where they are the same, or no two numbers of one unit. */
function difference(one, two, unit, otherUnit) {
  if (typeof one !== "number" || typeof two !== "number" || unit !== otherUnit) return "";
  if (unit === ": 1") return ratios(one, two);
  const words = figure(Number((one - two).toPrecision(3)));
  return words === "0" || words === "−0" ? "" : `${one > two ? "+" : ""}${words}${unit ? ` ${unit}` : ""}`;
}

/** How two ratios differ, whose signs only tell which way round the output turns. */
function ratios(one, two) {
  const more = Number((Math.abs(one) - Math.abs(two)).toPrecision(3));
  const turns = more ? `${figure(Math.abs(more))} ${Math.abs(more) === 1 ? "turn" : "turns"} ${more > 0 ? "more" : "fewer"}` : "";
  return [turns, one * two < 0 ? "the other way round" : ""].filter(Boolean).join(", ");
}

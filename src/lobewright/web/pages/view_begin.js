// A drive from what is known already: one question, one answer, one whole design with the numbers that would break first. Or a
// design file that a person brings. Nothing is written before it is given a name and taken.
import { ApiFault, ask, tell } from "./api.js";
import { element, figure, sentence, setText, worded } from "./dom.js";
import { MARKS } from "./told.js";

export const id = "begin";
export const title = "What do you have?";
export const titleWhenOpen = "Another drive";
export const always = true;

const BASES = [["belt", "A belt"], ["ratio", "A ratio that I need"], ["bearing", "Some bearings"], ["starter", "Nothing yet: a plain start"]];
const STATE_WORDS = { pass: "every check holds", warn: "it holds, but barely", fail: "a check fails that no single edit mends", "not made": "not all could be checked" };
const RINGS = { belt: "A belt", printed_ring: "A printed ring", printed_cup: "A printed cup", metal_cup: "A metal cup" };
const BENDERS = { rollers: "rollers", paired_rollers: "pairs of rollers", discs: "two discs", cam_plain: "a plain cam", cam_thin_bearing: "a cam in a thin bearing" };
const MOST_BYTES = 1_000_000; // of a design file, as on the server
const FILE_NAME = /^[A-Za-z0-9][A-Za-z0-9 _-]{0,59}\.toml$/;
const NAME_ALLOWED = "letters, digits, blanks, _ and -, at most 60";

export function mount(root, store) {
  new Begin(root, store);
}

class Begin {
  constructor(root, store) {
    this.root = root;
    this.store = store;
    this.asked = 0; // counts questions, so that an answer to an earlier one is not shown under a later one
    this.question = element("div", { className: "question" });
    this.answer = element("div", { className: "proposal" });
    this.answer.setAttribute("aria-live", "polite");
    const bases = element("fieldset", {}, element("legend", { textContent: "Begin from" }), ...BASES.map(([basis, words]) => this.basis(basis, words)));
    root.append(element("p", { className: "words", textContent: "Say one thing that is settled. The rest is proposed, checked, and yours to change." }),
      bases, this.question, this.answer, this.bring());
    store.addEventListener("state", () => this.load());
  }

  /** What can be begun from is asked for once; the drawer's content changes rarely. */
  async load() {
    if (this.choices) return;
    this.choices = {};
    try {
      this.choices = await ask("/api/begin");
      this.put(this.chosen ?? "belt");
    } catch (fault) {
      if (!(fault instanceof ApiFault)) throw fault;
      this.choices = null;
      setText(this.question, fault.message);
    }
  }

  basis(basis, words) {
    const field = element("input", { type: "radio", name: "basis", value: basis, id: `basis-${basis}`, checked: basis === "belt" });
    field.addEventListener("change", () => this.put(basis));
    return element("label", { className: "pick", htmlFor: field.id }, field, words);
  }

  put(basis) {
    this.chosen = basis;
    this.asked += 1;
    this.answer.replaceChildren();
    if (!this.choices?.kinds) return;
    this.fields = this[`ask_${basis}`]();
    const propose = element("button", { type: "button", className: "main", textContent: "Propose a drive" });
    propose.addEventListener("click", () => this.propose(propose));
    this.question.replaceChildren(...this.fields.map(({ label }) => label), propose);
  }

  ask_belt() {
    const { belts, owned } = this.choices;
    const own = owned.belts.map((one) => [`${one.designation}, ${one.teeth} teeth, ${one.width_mm} mm wide`, one]);
    const first = owned.belts[0] ?? { designation: "C3M", teeth: 100, width_mm: 15 };
    const fields = [
      choice("designation", "Profile", belts.map((one) => [one.designation, one.designation]), first.designation),
      typed("teeth", "Teeth", first.teeth),
      typed("width_mm", "Width in mm", first.width_mm),
    ];
    const lengths = element("datalist", { id: "begin-lengths" });
    const fill = () => lengths.replaceChildren(...(belts.find((one) => one.designation === fields[0].field.value)?.teeth ?? []).map((count) => element("option", { value: count })));
    fields[0].field.addEventListener("change", fill);
    fields[1].field.setAttribute("list", lengths.id);
    fields[1].label.append(lengths);
    fill();
    if (!own.length) return fields;
    const drawer = choice("", "In your drawer", [...own.map(([words], at) => [String(at), words]), ["", "another one"]], "0");
    drawer.field.addEventListener("change", () => {
      const one = own[Number(drawer.field.value)]?.[1];
      if (drawer.field.value === "" || !one) return;
      for (const { key, field } of fields) field.value = one[key];
      fill();
    });
    return [drawer, ...fields];
  }

  ask_ratio() {
    return [typed("ratio", "Turns of the generator for one turn of the output", 60)];
  }

  ask_bearing() {
    const mine = new Map(this.choices.owned.bearings.map((one) => [one.designation, one.count]));
    const rows = this.choices.bearings.map((one) => [one.designation,
      `${one.designation}: ${one.bore_mm} × ${one.outer_mm} mm${mine.has(one.designation) ? `, ${mine.get(one.designation)} in your drawer` : ""}`]);
    rows.sort((one, other) => mine.has(other[0]) - mine.has(one[0]));
    return [choice("designation", "Bearing", rows, this.choices.bearing)];
  }

  ask_starter() {
    const rows = this.choices.kinds.map((kind) => [kind, kindWords(...kind.split("-"))]);
    return [choice("kind", "Flexible ring, and what bends it", rows, "belt-paired_rollers")];
  }

  async propose(button) {
    const answer = Object.fromEntries(this.fields.filter(({ key }) => key).map(({ key, field, number }) => [key, number ? plainNumber(field.value) : field.value]));
    button.disabled = true;
    const mine = ++this.asked;
    setText(this.answer, "Working it out …");
    const [found, fault] = await tell("/api/begin", { basis: this.chosen, answer }).then((one) => [one, null], (wrong) => [null, wrong]);
    button.disabled = false;
    if (mine !== this.asked) return;
    if (fault && !(fault instanceof ApiFault)) throw fault;
    if (fault || !found.ok) this.answer.replaceChildren(element("p", { className: "fault", textContent: (fault ?? found).faults.map(sentence).join(" ") || fault.message }));
    else this.show(found);
  }

  show({ text, name, state, ratio_text: ratio, notes, mended, weakest }) {
    const parts = [element("p", { className: "strong", textContent: `${worded(name)}. It turns ${ratio.replace("-", "−")}; ${STATE_WORDS[state]}.` })];
    parts.push(...notes.map((textContent) => element("p", { textContent })));
    if (mended.length) parts.push(element("p", { textContent: `Mended on the way: ${mended.join("; ")}.` }));
    const wrong = weakest.filter((one) => one.state === "fail" || one.state === "warn");
    const near = weakest.filter((one) => !wrong.includes(one));
    if (wrong.length) parts.push(...listed("This does not hold yet, or barely:", wrong, (one) => `${MARKS[one.state]} ${one.title}: ${one.sentence}`));
    if (near.length) {
      parts.push(...listed("These would break first when you change numbers:", near, (one) => `${one.title}: ${figure(one.value)} ${one.unit}, ${one.bound} ${figure(one.limit)}`));
    }
    this.answer.replaceChildren(...parts, this.taking(text, fileStem(name)));
  }

  /** A name for the file, and taking it. */
  taking(text, stem) {
    const { label, field } = typed("", "Name of its file", free(stem, this.store.state.designs), false);
    field.className = "name";
    const take = element("button", { type: "button", className: "main", textContent: "Take it" });
    const fault = element("p", { className: "fault", id: "begin-fault", hidden: true });
    fault.setAttribute("role", "alert");
    field.setAttribute("aria-describedby", fault.id);
    take.addEventListener("click", async () => {
      const why = await this.add(`${field.value.trim()}.toml`, text);
      setText(fault, why);
      fault.hidden = !why;
      if (!why) this.answer.replaceChildren(element("p", { textContent: "Taken; it is open now." }));
    });
    return element("div", { className: "question" }, label, take, fault);
  }

  /** Writes a new design and opens it; empty where that went well, else why not. */
  async add(file, text) {
    if (!FILE_NAME.test(file)) return `A file cannot have this name; allowed: ${NAME_ALLOWED}.`;
    try {
      await this.store.add(file, text);
      scrollTo(0, 0);
      return "";
    } catch (fault) {
      if (!(fault instanceof ApiFault)) throw fault;
      return fault.faults.map(sentence).join(" ") || fault.message;
    }
  }

  bring() {
    const field = element("input", { type: "file", id: "bring", accept: ".toml" });
    const told = element("p", { className: "words" });
    told.setAttribute("role", "status");
    const box = element("div", { className: "bring" }, element("label", { htmlFor: field.id, textContent: "Bring a design file" }), field,
      element("p", { className: "words", textContent: "A TOML file of at most 1 MB; drop it here or choose it. It is copied into the project folder and read, never run." }), told);
    const take = async (file) => { told.textContent = file ? await this.read(file) : ""; };
    field.addEventListener("change", () => take(field.files[0]).then(() => { field.value = ""; }));
    box.addEventListener("dragover", (event) => {
      event.preventDefault();
      box.classList.add("over");
    });
    box.addEventListener("dragleave", () => box.classList.remove("over"));
    box.addEventListener("drop", (event) => {
      event.preventDefault();
      box.classList.remove("over");
      take(event.dataTransfer.files[0]);
    });
    return box;
  }

  async read(file) {
    if (!file.name.endsWith(".toml")) return `${file.name} is not a design file; allowed: a name that ends in .toml.`;
    if (file.size > MOST_BYTES) return `${file.name} is too large for a design: ${Math.round(file.size / 1000)} kB; allowed: at most 1000 kB.`;
    let text;
    try {
      text = new TextDecoder("utf-8", { fatal: true }).decode(await file.arrayBuffer());
    } catch {
      return `${file.name} is not UTF-8 text.`;
    }
    const name = `${free(fileStem(file.name.slice(0, -".toml".length)), this.store.state.designs)}.toml`;
    return (await this.add(name, text)) || `${name} is open now.`;
  }
}

function listed(above, rows, told) {
  return [element("p", { textContent: above }), element("ul", {}, ...rows.map((one) => element("li", { textContent: told(one) })))];
}

const kindWords = (ring, bender) => `${RINGS[ring] ?? worded(ring)}, bent by ${BENDERS[bender] ?? bender.replaceAll("_", " ")}`;

function choice(key, words, rows, chosen) {
  const field = element("select", {}, ...rows.map(([value, text]) => element("option", { value, textContent: text, selected: value === chosen })));
  return { key, field, label: element("label", {}, words, field) };
}

function typed(key, words, value, number = true) {
  const field = element("input", { type: "text", value: String(value), autocomplete: "off", spellcheck: false });
  if (number) field.inputMode = "decimal";
  return { key, field, number, label: element("label", {}, words, field) };
}

/** A number with a point or a decimal comma; what is none goes to the server as it is, which says so. */
function plainNumber(text) {
  const number = Number(text.trim().replace(",", "."));
  return text.trim() && Number.isFinite(number) ? number : text;
}

/** A name as a file may bear it. */
function fileStem(name) {
  return name.normalize("NFKD").replace(/[^A-Za-z0-9 _-]+/g, "_").replace(/^[^A-Za-z0-9]+/, "").trim().replace(/[ _]+/g, "_").slice(0, 50) || "drive";
}

/** The name, or the first numbered one that the folder does not have. */
function free(stem, designs) {
  for (let number = 1; ; number += 1) {
    const name = number === 1 ? stem : `${stem}_${number}`;
    if (!designs.includes(`${name}.toml`)) return name;
  }
}

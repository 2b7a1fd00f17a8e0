// The whole drive in space, cut open, turning: what stands where, and which part is which.
import { ApiFault, askBytes } from "./api.js";
import { element, setText } from "./dom.js";
import { Eye, PLACES, axesOf, farther, handle, nearer } from "./solid_eye.js";
import { extent, round } from "./solid_box.js";
import { partRows, partWords } from "./solid_parts.js";
import { AXIS, CUTS, cutRange, cutWords, planes } from "./solid_cut.js";

export const id = "solid";
export const title = "Inside it";

const RAD = Math.PI / 180;
const STEP_DEG = 15;
const TURN_S = 6; // of one turn of the generator
const SLOW_MS = 45; // between two frames: then one pixel is drawn for one of the page's
const STATES = [["cut", "cut open"], ["whole", "left whole"], ["through", "seen through"], ["hidden", "left out"]];
const FILLED = 0.96; // of the picture, by what is round the pieces
const ROOM = 0.78; // of the most that the drive spans from any place: so large it is not drawn larger from a place where it spans less
const HIDDEN_AT_FIRST = ["test"];

export function mount(root, store) {
  new Solid(root, store);
}

const words = (text) => element("p", { className: "words", textContent: text });
const button = (text, act) => Object.assign(element("button", { type: "button", className: "quiet", textContent: text }), { onclick: act });
const chooser = (rows) => element("select", {}, ...rows.map(([value, text]) => element("option", { value, textContent: text })));
const labelled = (text, control) => element("label", {}, element("span", { textContent: text }), control);
const degrees = (value) => `${value.toFixed(1).replace(/^-(?=0\.0$)/, "").replace("-", "−")}°`;

class Solid {
  constructor(root, store) {
    this.store = store;
    this.root = element("div", { className: "solid" });
    document.head.append(element("link", { rel: "stylesheet", href: "/pages/view_solid.css" }));
    root.append(this.root);
    this.told = element("p", { className: "words" });
    this.told.setAttribute("role", "status");
    this.root.append(this.told);
    Object.assign(this, { angle: 0, states: {}, chosen: new Set(), alone: false, fine: 2, frameMs: 0, revision: 0 });
    const seen = new IntersectionObserver((entries) => {
      this.visible = entries.at(-1).isIntersecting;
      if (!this.visible) return this.play(false);
      this.follow();
      this.redraw();
    });
    seen.observe(this.root);
    store.addEventListener("state", () => this.mark());
    store.addEventListener("look", () => this.follow());
    store.addEventListener("angle", ({ detail }) => detail.from !== id && this.turn(detail.rad, false));
  }

  /** Fetches the drive where it is looked at and not the one that is kept; of changes meanwhile only the last is fetched. */
  async follow() {
    this.mark();
    const { open } = this.store.state ?? {};
    const wanted = open && `${open.file} ${open.revision}`;
    if (!wanted || !this.visible || this.asking || wanted === this.asked || this.store.look?.ok === false) return;
    this.asking = true;
    this.asked = wanted;
    this.mark();
    try {
      const [{ SolidPicture, unpacked }, { body, head }] = await Promise.all([import("./solid_gl.js"), askBytes("/api/solid")]);
      if (!this.canvas) this.begin(SolidPicture);
      if (this.picture) this.show(unpacked(body), `${open.file} ${head("lobewright-revision")}`, open.file);
      this.fault = "";
    } catch (fault) {
      if (!(fault instanceof ApiFault)) throw fault;
      this.fault = fault.message;
      if (fault.status === 0) this.asked = "";
    } finally {
      this.asking = false;
    }
    this.mark();
    this.follow();
  }

  /** Says how what is shown stands to the design. */
  mark() {
    const { open } = this.store.state ?? {};
    const old = open && this.shown && this.shown !== `${open.file} ${open.revision}`;
    const why = this.fault ? `Not made: ${this.fault}` : this.asking ? "The parts are being shaped; this takes a few seconds."
      : this.store.look?.ok === false ? "The design as it is now has no drive to show." : "";
    const other = old && this.shownFile !== open.file;
    const which = other ? `Shown is still another drive: ${this.head.name}.` : old ? "Shown is the drive before the last change." : "";
    setText(this.told, [why, which].join(" ").trim());
    this.root.classList.toggle("solid-old", Boolean(old));
  }

  begin(SolidPicture) {
    const canvas = element("canvas", { tabIndex: 0 });
    canvas.setAttribute("role", "application");
    canvas.setAttribute("aria-roledescription", "picture to turn");
    canvas.setAttribute("aria-describedby", "solid-words");
    this.canvas = canvas;
    try {
      this.picture = new SolidPicture(canvas);
    } catch (error) {
      const why = `This browser draws nothing in space here (${error.message}), so the drive is not shown.`;
      this.root.append(words(`${why} The guide that is written under “Make it” has the same parts in pictures.`));
      return;
    }
    this.eye = new Eye(() => this.redraw());
    handle(canvas, this.eye, (x, y) => this.point(x, y));
    canvas.addEventListener("webglcontextlost", (event) => event.preventDefault());
    canvas.addEventListener("webglcontextrestored", () => {
      this.picture = new SolidPicture(canvas);
      this.picture.load(this.drive);
      this.redraw();
    });
    new ResizeObserver(() => this.redraw()).observe(canvas);
    for (const scheme of ["dark", "light"]) matchMedia(`(prefers-color-scheme: ${scheme})`).addEventListener("change", () => this.redraw());
    // For tests and whoever wants to know: a member's turn in rad, the generator set to one, the page's own work for the last frame.
    canvas.poseOf = (member) => this.turns()[member];
    canvas.turnTo = (rad) => this.turn(rad);
    canvas.frameMs = () => this.frameMs;
    this.root.append(canvas, ...this.controls());
  }

  controls() {
    this.name = element("p", { className: "solid-name" });
    const from = chooser([["", "as turned by hand"], ...PLACES.map((place) => [place.name, place.words])]);
    this.from = from;
    from.onchange = () => from.value && this.eye.set(PLACES.find((place) => place.name === from.value));
    this.cut = chooser(CUTS.map(({ kind, words: text }) => [kind, text]));
    this.where = element("input", { type: "range" });
    this.whereLabel = labelled("", this.where);
    this.cut.onchange = () => this.newCut();
    this.where.oninput = () => this.redraw();
    this.runs = button("Turn the generator", () => this.play(!this.playing));
    const still = matchMedia("(prefers-reduced-motion: reduce)");
    const asWished = () => {
      this.runs.hidden = still.matches; // then it turns by hand and in steps only
      if (still.matches) this.play(false);
    };
    still.addEventListener("change", asWished);
    asWished();
    this.slider = element("input", { type: "range", min: 0, max: 360, step: 1, value: 0 });
    this.slider.oninput = () => {
      const whole = 2 * Math.PI * Math.floor(this.angle / (2 * Math.PI) + 1e-9);
      this.turn(whole + this.slider.value * RAD);
    };
    this.readout = element("p", { className: "solid-turns" });
    this.parts = element("select");
    this.parts.onchange = () => this.choose(this.partRows[Number(this.parts.value)]?.indices ?? [], true);
    this.groups = element("div", { className: "solid-groups" });
    this.description = element("p", { className: "words", id: "solid-words" });
    const row = (...inside) => element("div", { className: "solid-row" }, ...inside);
    return [
      this.name,
      row(labelled("Look at", from), button("Nearer", () => nearer(this.eye)), button("Farther", () => farther(this.eye))),
      row(labelled("The drive is", this.cut), this.whereLabel),
      row(this.runs, button("Back 15°", () => this.turn(this.angle - STEP_DEG * RAD)), button("On 15°", () => this.turn(this.angle + STEP_DEG * RAD)),
        labelled("Generator at", this.slider)),
      this.readout,
      row(labelled("Show me", this.parts)),
      element("details", {}, element("summary", { textContent: "What is cut, seen through or left out" }), this.groups),
      this.description,
      words("Drag to turn it, with Shift to move it; two fingers move and enlarge. Keys: arrows turn, Shift and arrows move, + and − enlarge, 0 begins again."),
    ];
  }

  show(drive, shown, shownFile) {
    const { head } = drive;
    Object.assign(this, { drive, head, shown, shownFile });
    this.picture.load(drive);
    const kept = this.states;
    this.states = {};
    for (const group of Object.keys(head.groups)) this.states[group] = kept[group] ?? (HIDDEN_AT_FIRST.includes(group) ? "hidden" : "cut");
    this.round = head.parts.map((part) => (part.bent ? [] : round(part, drive.arrays)));
    this.chosen = new Set();
    this.measure();
    this.reach = Math.max(...this.round.flat().map((corner) => Math.hypot(...corner)));
    this.along = extent(this.corners, AXIS);
    this.meshAt = extent(this.round[head.parts.findIndex((part) => part.group === "rigid_ring")], AXIS).middle;
    this.groups.replaceChildren(...Object.entries(head.groups).map(([group, name]) => this.groupRow(group, name)));
    this.partRows = partRows(head.parts);
    this.parts.replaceChildren(element("option", { value: -1, textContent: "all parts" }),
      ...this.partRows.map(({ text }, at) => element("option", { value: at, textContent: text })));
    this.choose([], false);
    if (!this.cutFor) this.newCut();
    this.canvas.dataset.shown = shown;
    this.redraw();
  }

  groupRow(group, name) {
    const state = chooser(STATES);
    state.value = this.states[group];
    state.onchange = () => {
      this.states[group] = state.value;
      this.measure();
      this.redraw();
    };
    const mark = element("i", { className: "solid-mark" });
    mark.dataset.group = group;
    return element("label", {}, mark, element("span", { textContent: name }), state);
  }

  /** What finds room in the picture: the drive, and what is left out at first once it is shown. */
  measure() {
    const { parts } = this.head;
    const shown = (index) => this.chosen.has(index) || this.states[parts[index].group] !== "hidden";
    this.corners = this.round.filter((_, index) => !HIDDEN_AT_FIRST.includes(parts[index].group) || shown(index)).flat();
    this.most = Math.max(...PLACES.flatMap((place) => this.halves(place)));
  }

  /** Half of what the drive spans across and up, seen from a place. */
  halves(place) {
    return axesOf(place).slice(0, 2).map((axis) => extent(this.corners, axis).half);
  }

  newCut() {
    this.cutFor = this.cut.value || CUTS[0].kind;
    const { label, ...range } = cutRange(this.cutFor, this.along, this.meshAt);
    Object.assign(this.where, range);
    setText(this.whereLabel.firstChild, label);
    this.whereLabel.hidden = !label;
    this.redraw();
  }

  turns() {
    return Object.fromEntries(Object.entries(this.head.turns).map(([member, share]) => [member, share * this.angle]));
  }

  turn(rad, tell = true) {
    this.angle = rad;
    if (tell) this.store.dispatchEvent(new CustomEvent("angle", { detail: { rad, from: id } }));
    this.redraw();
  }

  play(on) {
    if (Boolean(on) === Boolean(this.playing)) return;
    this.playing = on;
    setText(this.runs, on ? "Stop" : "Turn the generator");
    let before = 0;
    const step = (now) => {
      if (!this.playing) return;
      if (before) {
        if (now - before > SLOW_MS) this.fine = 1;
        this.turn(this.angle + (2 * Math.PI * Math.min(now - before, 100)) / (1000 * TURN_S));
      }
      before = now;
      requestAnimationFrame(step);
    };
    if (on) requestAnimationFrame(step);
    else if (this.canvas) {
      this.fine = 2;
      this.redraw();
    }
  }

  point(x, y) {
    if (this.alone || !this.head) return;
    if (x === null) return this.choose([], false);
    this.pointing = [x, y];
    this.redraw();
  }

  choose(wanted, alone) {
    const open = wanted.filter((index) => this.states[this.head.parts[index].group] !== "hidden");
    const indices = open.length ? open : wanted; // what is left out is shown only where nothing else was meant
    if (!indices.length && !this.chosen.size && !this.alone) return;
    const before = this.alone;
    Object.assign(this, { chosen: new Set(indices), alone: alone && indices.length > 0 });
    if (this.alone || before) this.measure();
    if (!this.alone) this.parts.value = -1;
    this.redraw();
  }

  redraw() {
    if (this.waits || !this.head || !this.visible) return;
    this.waits = true;
    requestAnimationFrame(() => {
      this.waits = false;
      if (this.canvas.clientWidth && this.canvas.clientHeight) this.frame();
    });
  }

  frame() {
    const began = performance.now();
    const { canvas, eye, head } = this;
    if (this.pointing && this.picture.drawn) this.chosen = new Set([this.picture.under(...this.pointing)].filter((index) => index >= 0));
    this.pointing = null;
    const style = getComputedStyle(canvas);
    const colour = (name) => style.getPropertyValue(`--lw-${name}`).trim();
    const paper = colour("paper");
    const dark = parseInt(paper.slice(1, 3), 16) < 128;
    // The place that was chosen fills the picture; turned from there the drive is drawn smaller only where it would be cut off.
    const from = this.halves(eye.place);
    const room = this.halves(eye).map((half, k) => Math.max(half, from[k], ROOM * this.most));
    const px_per_mm = eye.zoom * FILLED * 0.5 * Math.min(canvas.clientWidth / room[0], canvas.clientHeight / room[1]);
    const axes = eye.axes;
    const seen = axes.slice(0, 2).map((axis, k) => extent(this.corners, axis).middle - eye.shift[k] / px_per_mm);
    const middle = [0, 1, 2].map((k) => axes[0][k] * seen[0] + axes[1][k] * seen[1]);
    this.picture.draw({
      axes, middle, px_per_mm, paper, ink: colour("ink"), chosen_ink: colour("tooth-mark"), colours: head.colours[dark ? "dark" : "light"],
      reach_mm: 2 * this.reach, angles: this.turns(), states: this.states, planes: planes(this.cutFor, Number(this.where.value)), chosen: this.chosen, alone: this.alone,
      fine: Math.max(1, this.fine * Math.min(1, devicePixelRatio / 2 + 0.5)),
    });
    for (const mark of this.groups.querySelectorAll("i")) mark.style.backgroundColor = head.colours[dark ? "dark" : "light"][mark.dataset.group];
    this.say();
    this.frameMs = performance.now() - began;
  }

  say() {
    const { generator, output } = this.turns();
    const row = this.alone && this.partRows[Number(this.parts.value)];
    const part = this.head.parts[[...this.chosen][0]];
    setText(this.name, part ? `${row ? row.text : partWords(part)} – ${this.head.groups[part.group]}` : "Point at a part to read its name and its number in the parts list.");
    const turned = ((this.angle / RAD) % 360 + 360) % 360;
    if (document.activeElement !== this.slider) this.slider.value = turned;
    this.slider.setAttribute("aria-valuetext", degrees(turned));
    setText(this.readout, `Generator ${degrees(generator / RAD)}, output ${degrees(output / RAD)}`);
    const known = PLACES.find(({ right, above }) => right === this.eye.right && above === this.eye.above);
    this.from.value = known?.name ?? "";
    setText(this.description, `${this.eye.words}; ${cutWords(this.cutFor, this.where.value)}. ${this.head.parts.length} kinds of parts, ${this.head.parts.reduce((sum, one) => sum + one.places.length, 0)} pieces.`);
    this.canvas.setAttribute("aria-label", `${this.head.name}, the whole drive in space`);
  }
}

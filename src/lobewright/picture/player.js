// Plays scores in a page: moving pictures whose numbers follow one variable u (picture/score.py, picture/score.js).
//
//   1 player      <lobewright-scene>: time, hand, keys, questions, readings
//   2 look        <lobewright-look>: big type and paper for the whole page
// It knows nothing of what it shows; every word that it says comes with the data.

import { Base, Painting, say } from "./element.js";
import { Painter, TURN } from "./painter.js";
import { captionAt, clamp, figure, pictureAt, remarkAt, wordsAt } from "./score.js";

// ---- 1 player -------------------------------------------------------------------------------------------------

const SPEEDS = [0.1, 0.25, 0.5, 1, 2];
const DESIGNED_PX = 960; // width of a picture at which its texts and lines have the sizes that their score gives
const LEAST_SIZE = 0.7; // smaller pictures do not make them smaller than this
const GLIDE_S = [0.3, 2.5]; // how long the way to a stop may take
const CALM_STEP_S = 0.9; // where reduced motion is asked for, the picture goes by steps
const CALM_STEPS = 12;
const KEY_STEP = 0.01;
const PLACES = Array.from({ length: 41 }, (_, k) => k / 40); // where the longest figure of a reading is looked for
const FIRST_SCREEN = 1 / 3; // what begins lower stands on a screen of its own, once it is scrolled to
const MANY_TAKES = 4;
const MANY_LETTERS = 64; // titles that are longer together do not stand side by side

const STYLE = `
:host{display:block;color:var(--lw-ink);font-variant-numeric:tabular-nums lining-nums;container-type:inline-size}
[hidden]{display:none!important}
*{box-sizing:border-box}
.whole{--high:max(min(72vh,100vh - var(--besides,12.5rem)),var(--least,42vh));--wide:calc(var(--high)/var(--tall));
 display:grid;grid-template-columns:minmax(0,max(var(--wide),var(--read,44rem))) minmax(min(20rem,36%),1fr);grid-template-rows:repeat(5,auto) 1fr;
 gap:.2rem 1.8rem;align-items:start}
.side{grid-area:1/2/7/3;display:flex;flex-direction:column}.stage{grid-area:1/1}.said{grid-area:2/1}.keys{grid-area:3/1}dl{grid-area:4/1}
.whole>.intro{grid-area:5/1}.more{grid-area:6/1}
.side>.intro{order:2}.ask[hidden]~.intro{order:0}.side>.stops{order:1}
.look{position:relative;margin:0 auto;width:100%;max-width:var(--wide);aspect-ratio:1/var(--tall);
 border:1px solid var(--lw-rule);background:var(--lw-paper)}
canvas{position:absolute;inset:0;width:100%;height:100%;display:block}
.hold{position:absolute;inset:0}
.hold.drags{cursor:grab}.hold.drags:active{cursor:grabbing}
:focus-visible{outline:3px solid var(--lw-lobe-mark);outline-offset:2px}
.said{display:grid;margin:.4rem 0 0;font-size:1.12rem;line-height:1.35;max-width:88ch}
.said>*{grid-area:1/1;margin:0}.said>[aria-hidden]{visibility:hidden}
.keys{display:flex;flex-wrap:wrap;gap:.4rem .7rem;align-items:center;margin-top:.5rem}
.keys button:not(.main){padding:.3rem .8rem}
.intro{margin:.2rem 0;line-height:1.38}
.waits .said{display:none}
fieldset{display:flex;flex-wrap:wrap;gap:.4rem .5rem;align-items:center;margin:0 0 .7rem;padding:0;border:0;min-width:0}
legend,.name{padding:0;color:var(--lw-quiet);font-size:.92rem}
legend{float:left;margin-right:.4rem}
button,select,.pick{font:inherit;color:inherit;background:var(--lw-panel);border:1px solid var(--lw-quiet);min-height:max(44px,2.2rem);
 padding:.3rem 1rem;cursor:pointer;line-height:1.2;text-align:left}
button{border-radius:1.4rem}
select,.pick{border-radius:.3rem}
select{padding:.3rem .5rem}
.take{max-width:100%;flex:0 1 auto;font-size:.94em}
.pick{display:inline-flex;align-items:center;gap:.5rem;padding:.3rem .8rem}
.pick:has(:checked){border-color:var(--lw-ink);box-shadow:inset 0 0 0 1px var(--lw-ink);font-weight:600}
button:hover,.pick:hover{border-color:var(--lw-ink)}
button:disabled,input:disabled{opacity:.45;cursor:default}
button.main{background:var(--lw-ink);color:var(--lw-paper);border-color:var(--lw-ink);font-weight:600;min-width:6.5rem;text-align:center}
input{accent-color:var(--lw-ink);margin:0}
input[type=radio]{width:1.1rem;height:1.1rem}
.way{flex:1 1 8rem;display:flex;align-items:center;gap:.6rem}
input[type=range]{flex:1;min-width:5rem;height:max(44px,2.2rem)}
.pace{display:flex;align-items:center;gap:.5rem}
.ask{border:1px solid var(--lw-ink);padding:.7rem .9rem .8rem;margin:0 0 1rem;background:var(--lw-panel)}
.ask p{margin:0 0 .5rem;line-height:1.4}
.ask .question{font-weight:600}
.done .lead,.done .choices [aria-pressed=false]{display:none}
.choices{display:grid;gap:.4rem}
.choices button{background:var(--lw-paper);border-radius:.3rem;display:block;width:100%;padding:.45rem .8rem}
.choices [aria-pressed=true]{box-shadow:inset 0 0 0 2px var(--lw-ink)}
.verdict{margin-top:.6rem!important}
.verdict:empty{display:none}
.verdict b{color:var(--lw-pass)}.verdict.slip b{color:var(--lw-fail)}
button.skip{margin-top:.4rem;min-height:2.2rem;background:none;border-color:transparent;text-decoration:underline;padding:.3rem 0}
dl{margin:.4rem 0 0;display:flex;flex-wrap:wrap;gap:0 1rem}
dl div{flex:1 1 6rem;min-width:min-content;max-width:100%;border-top:1px solid var(--lw-rule);padding:.2rem 0 .3rem}
dt,dd{margin:0;overflow-wrap:break-word}
dt{color:var(--lw-quiet);font-size:.88rem;line-height:1.3}
dd{font-size:1.3rem;line-height:1.25}
.figure{display:inline-block}small{font-size:.8rem}.away{visibility:hidden}
.lists{display:none;grid-template-columns:repeat(auto-fit,minmax(15rem,1fr));gap:.6rem 1.4rem;margin:.9rem 0 .2rem}
.lists h3{font-size:1rem;font-weight:600;margin:0}
.lists ul{margin:.1rem 0 0;padding-left:1.2rem;line-height:1.45}
details{margin-top:.6rem;color:var(--lw-quiet)}
summary{cursor:pointer;min-height:1.8rem}
details p{margin:.2rem 0 .5rem;max-width:70ch;line-height:1.5}
/* beside each other in big type, or in a narrow window: what is read must stay in view while the keys under the picture are used */
@container (max-width:90rem){:is(.pace,.way) .name{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}}
@container (min-width:864.1px) and (max-width:90rem){.takes legend{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}}
@container (min-width:864.1px) and (max-width:60rem){
 .whole{--least:46vh;--read:0px}
 .keys{gap:.3rem .5rem;margin-top:.3rem}.keys :is(button,select,input){min-height:44px;height:auto;font-size:.88rem}
 .keys>*{order:2}.keys .play{order:0}.way{order:1!important;flex:1 1 55%}
 dl{margin:.3rem 0 0}dt{font-size:.8rem;line-height:1.2}dd{font-size:1.1rem;line-height:1.15}dd small{font-size:.72rem}dl div{padding:.1rem 0}
 .said{font-size:1rem;line-height:1.25}
 .ask{padding:.5rem .8rem}.intro{line-height:1.32}.takes{margin-bottom:.4rem;font-size:.88rem}
}
@container (max-width:864px){
 .whole{display:flex;flex-direction:column;align-items:stretch}.side{display:contents}.side>.intro,.whole>.intro{order:-1}
 .stage{order:1}.said{order:2}.ask{order:3;margin:.8rem 0 .2rem}.keys{order:4}dl{order:5}dd{font-size:1.2rem}
 .lists{order:6;display:grid}.side>.stops{order:7}.more{order:8;margin-top:.8rem}.way{order:-1;flex-basis:100%}.full{margin-left:auto}
 .waits .way,.waits .play,.waits .home,.waits .pace{display:none}
}
@container (max-width:480px){button{padding:.3rem .8rem}button.main{min-width:5rem}
 .keys{gap:.4rem .6rem}
 .takes,.stops{gap:.35rem}.takes legend,.stops legend{width:100%}
}
/* the whole screen: the picture as large as it and its keys fit, what is told in a narrow column beside it */
:host(:fullscreen){background:var(--lw-paper);overflow:auto;padding:.5rem .6rem}
:host(:fullscreen) :is(.intro,.more,.hands){display:none}
:host(:fullscreen) .said{max-width:none;margin:.3rem 0 0;font-size:clamp(1.05rem,2.3vh,1.8rem);line-height:1.3}
:host(:fullscreen) .ask{font-size:clamp(1rem,2vh,1.6rem)}
@media (orientation:landscape){
 :host(:fullscreen) .whole{display:grid;height:100%;gap:0 1rem;
  grid-template:auto minmax(0,1fr) auto auto/minmax(0,1fr) fit-content(45%) clamp(9rem,16%,22rem)}
 :host(:fullscreen) .stage{grid-area:1/1/3/3;container-type:size;height:100%}
 :host(:fullscreen) .look{width:min(100cqw,100cqh/var(--tall));max-width:none}
 :host(:fullscreen) .keys{grid-area:3/1/4/3}
 :host(:fullscreen) .said{grid-area:4/1}
 :host(:fullscreen) dl{grid-area:4/2;margin:.3rem 0 0;flex-wrap:nowrap}
 :host(:fullscreen) dl div{flex:1 1 auto;padding:.2rem 0 0}
 :host(:fullscreen) dt{font-size:clamp(.8rem,1.7vh,1.2rem)}:host(:fullscreen) dd{font-size:clamp(1.1rem,2.6vh,1.9rem);line-height:1.2}
 :host(:fullscreen) .side{display:block;grid-area:1/3/5/4;height:100%;overflow:auto}
 :host(:fullscreen) .done .question{display:none}
}
@media (orientation:landscape) and (max-height:480px){
 :host(:fullscreen) .whole{grid-template:repeat(8,min-content) 1fr/minmax(0,1fr) 11rem;overflow:auto}
 :host(:fullscreen) .whole>*{grid-area:auto/2}
 :host(:fullscreen) .whole>.stage{grid-area:1/1/10/2;position:sticky;top:0;height:calc(100vh - 1rem)}
 :host(:fullscreen) .side{height:auto;order:9}
 :host(:fullscreen) dl{display:block}
}
@media print{.keys,.stops,.skip,.hands,.verdict,.said>[aria-hidden]{display:none!important}
 .whole{display:flex;flex-direction:column;align-items:stretch}.side{display:contents}.side>.intro,.whole>.intro{order:-1}.stage{order:1}.more{order:9}
 .look{background:none;max-width:68%!important;break-inside:avoid}.pick:not(:has(:checked)){display:none}
 .pick{border:0;background:none;padding:0;box-shadow:none!important}
 dl{break-inside:avoid}dd{font-size:1.1rem}.ask{break-inside:avoid;background:none}.choices button{background:none;min-height:0;padding:.2rem .6rem}details{display:none}}
`;

const FRAME = `
<div class="whole">
 <div class="side">
  <fieldset class="takes"><legend></legend></fieldset>
  <div class="ask" role="group" aria-labelledby="question"><p class="lead name"></p><p class="question" id="question"></p>
   <div class="choices"></div><p class="verdict" role="status"></p><button class="skip" type="button"></button></div>
  <fieldset class="stops"><legend></legend></fieldset>
 </div>
 <div class="stage"><div class="look"><canvas></canvas><div class="hold"></div></div></div>
 <div class="said"><p class="now" aria-live="polite"></p></div>
 <div class="keys">
  <button class="main play" type="button"></button>
  <button class="home" type="button"></button>
  <label class="way"><span class="name"></span><input type="range" min="0" max="1" step="0.001" value="0"></label>
  <label class="pace"><span class="name"></span><select></select></label>
  <button class="full" type="button"></button>
 </div>
 <dl></dl>
 <div class="intro"><slot name="intro"></slot><slot name="wrong"></slot></div>
 <div class="lists"></div>
 <div class="more"><slot name="points"></slot>
  <details class="words"><summary></summary><p id="words"></p></details>
  <details class="hands"><summary></summary><p></p></details>
 </div>
</div>`;

const make = (tag, more = {}, ...inside) => {
  const made = Object.assign(document.createElement(tag), more);
  made.append(...inside);
  return made;
};

/** The same mixed order every time: a right answer must not be found by its place. */
function mixed(choices) {
  const hash = (words) => [...words].reduce((sum, letter) => (sum * 31 + letter.codePointAt(0)) % 65521, 7);
  return choices.map((choice, index) => [hash(choice.words), index]).sort((a, b) => a[0] - b[0] || a[1] - b[1]).map(([, index]) => index);
}

/**
 * `<lobewright-scene source="id" words="id">`: a scene and the player's own words from JSON scripts of these ids, or from the
 * property `data` ({ scene, words }). What the page has to say around it are children with a slot: `intro`, `wrong`, `points`, or
 * `intro-NAME`, `points-NAME` for a take of that name. Colours are the custom properties `--lw-…` of the page. Every place that it has painted is
 * told by the event `moved`, detail { take, u }.
 */
export class ScenePlayer extends Painting {
  constructor() {
    super();
    this.root = this.attachShadow({ mode: "open" });
    this.calm = matchMedia("(prefers-reduced-motion: reduce)");
    this.dark = matchMedia("(prefers-color-scheme: dark)");
    this.restyle = () => {
      this.colours = null;
      this.ask();
    };
    this.resize = () => this.fit();
    this.repaper = () => {
      this.fit();
      this.colours = null;
      this.draw(true);
    };
    this.size = new ResizeObserver(() => this.ask());
    this.glance = new IntersectionObserver(([{ isIntersecting }]) => {
      this.seen = isIntersecting;
      if (isIntersecting) this.ask();
      else if (this.score) this.play(false);
    });
    Object.assign(this, { u: 0, take: 0, speed: 1, playing: false, glide: null, seen: true, answers: [] });
  }

  connectedCallback() {
    this.dark.addEventListener("change", this.restyle);
    document.addEventListener("lobewright-look", this.repaper);
    addEventListener("resize", this.resize);
    const source = this.getAttribute("source");
    const json = (name) => JSON.parse(document.getElementById(this.getAttribute(name)).textContent);
    if (source && !this.scene) this.data = { scene: json("source"), words: json("words") };
    else if (this.scene) this.observe();
  }

  disconnectedCallback() {
    if (this.score) this.play(false);
    this.size.disconnect();
    this.glance.disconnect();
    this.dark.removeEventListener("change", this.restyle);
    document.removeEventListener("lobewright-look", this.repaper);
    removeEventListener("resize", this.resize);
  }

  observe() {
    this.fit();
    this.size.observe(this.parts.look);
    this.glance.observe(this.parts.look);
    this.ask();
  }

  set data({ scene, words }) {
    Object.assign(this, { scene, words, answers: scene.takes.map(() => null) });
    this.build();
    this.setTake(0);
    this.observe();
  }

  /** The picture leaves room for what is read and pressed under it, and for what stands above it on a page's first screen. */
  fit() {
    const { whole, stage, readings } = this.parts;
    whole.style.removeProperty("--besides");
    if (!stage.clientHeight || getComputedStyle(whole).display !== "grid") return;
    const top = this.getBoundingClientRect().top + scrollY;
    const above = top > 0 && top < FIRST_SCREEN * innerHeight ? top : 0;
    const end = (part) => part.getBoundingClientRect().bottom;
    const { hidden } = readings;
    const waits = whole.classList.replace("waits", "fits");
    readings.hidden = false;
    for (let turn = 0; turn < 3; turn += 1) { // a smaller picture may make its caption longer
      whole.style.setProperty("--besides", `${Math.ceil(above + end(readings) - end(stage)) + 1}px`);
    }
    readings.hidden = hidden;
    if (waits) whole.classList.replace("fits", "waits");
  }

  // -- what is built once --

  build() {
    const sheet = new CSSStyleSheet();
    sheet.replaceSync(STYLE);
    this.root.adoptedStyleSheets = [sheet];
    this.root.innerHTML = FRAME;
    const find = (what) => this.root.querySelector(what);
    this.parts = {
      whole: find(".whole"), side: find(".side"), intro: find(".intro"), stage: find(".stage"), lists: find(".lists"), look: find(".look"), hold: find(".hold"), said: find(".said"), now: find(".now"), play: find(".play"), home: find(".home"), full: find(".full"),
      way: find(".way input"), pace: find(".pace select"), ask: find(".ask"), question: find(".question"),
      choices: find(".choices"), verdict: find(".verdict"), skip: find(".skip"), readings: find("dl"), stops: find(".stops"),
      takes: find(".takes"), slots: [...this.root.querySelectorAll("slot")], words: find("#words"), hands: find(".hands p"),
    };
    this.painter = new Painter(find("canvas"));
    const { words } = this;
    for (const [place, key] of [[".takes legend", "takes"], [".stops legend", "stops"], [".way .name", "way"], [".pace .name", "speed"],
      [".lead", "lead"], [".words summary", "words"], [".hands summary", "hands"], [".home", "home"], [".full", "full"]]) {
      say(find(place), words[key]);
    }
    const { marks } = this.scene.takes[0].score;
    const places = (speed) => (speed < 0.1 || speed === 0.25 ? 2 : speed < 1 ? 1 : 0);
    this.parts.pace.append(...SPEEDS.map((speed) => new Option(`${figure(speed, places(speed), marks)} ×`, speed, speed === 1, speed === 1)));
    this.offer();
    this.listen();
  }

  /** Takes to choose from: side by side, or in a list where they are many or their titles long. */
  offer() {
    const { parts, scene, words } = this;
    parts.takes.hidden = scene.takes.length < 2;
    const letters = scene.takes.reduce((sum, one) => sum + one.title.length, 0);
    if (scene.takes.length > MANY_TAKES || letters > MANY_LETTERS) {
      const list = make("select", { className: "take" }, ...scene.takes.map((one, index) => new Option(one.title, index)));
      list.setAttribute("aria-label", words.takes);
      list.addEventListener("change", () => this.setTake(Number(list.value)));
      this.mark = (index) => { list.value = index; };
      parts.takes.append(list);
      return;
    }
    const inputs = scene.takes.map((_, index) => make("input", { type: "radio", name: "take", value: index }));
    inputs.forEach((input, index) => input.addEventListener("change", () => this.setTake(index)));
    this.mark = (index) => { inputs[index].checked = true; };
    parts.takes.append(...inputs.map((input, index) => make("label", { className: "pick" }, input, scene.takes[index].title)));
  }

  listen() {
    const { parts } = this;
    const toggle = () => this.play(!this.playing);
    const to = (u) => () => { this.stand(u); };
    const by = (step) => () => { this.stand(this.u + step); };
    parts.play.addEventListener("click", toggle);
    parts.home.addEventListener("click", to(0));
    parts.way.addEventListener("input", () => this.stand(Number(parts.way.value)));
    parts.pace.addEventListener("change", () => { this.speed = Number(parts.pace.value); });
    parts.full.hidden = !document.fullscreenEnabled;
    parts.full.addEventListener("click", () => (document.fullscreenElement ? document.exitFullscreen() : this.fill()));
    parts.skip.addEventListener("click", () => this.leave());
    const keys = {
      ArrowRight: by(KEY_STEP), ArrowUp: by(KEY_STEP), ArrowLeft: by(-KEY_STEP), ArrowDown: by(-KEY_STEP),
      PageDown: () => this.hop(1), PageUp: () => this.hop(-1), Home: to(0), End: to(1), " ": toggle,
    };
    for (const target of [parts.hold, parts.way]) {
      target.addEventListener("keydown", (event) => {
        if (!(event.key in keys) || this.locked || event.ctrlKey || event.metaKey || event.altKey) return;
        if (target === parts.hold && !this.score.drag) return;
        event.preventDefault();
        keys[event.key]();
      });
    }
    this.drag(parts.hold);
  }

  /** The whole screen, on a telephone lying on its side where the browser can lay it so. */
  async fill() {
    await this.requestFullscreen();
    await screen.orientation?.lock?.("landscape").catch(() => {});
  }

  /** The hand: what it holds follows it. */
  drag(hold) {
    let last = null;
    const place = (event) => {
      const [x0, y0, x1, y1] = this.score.view;
      const box = hold.getBoundingClientRect();
      return [x0 + ((event.clientX - box.left) / box.width) * (x1 - x0), y1 - ((event.clientY - box.top) / box.height) * (y1 - y0)];
    };
    hold.addEventListener("pointerdown", (event) => {
      if (event.button > 0 || this.locked || !this.score.drag) return;
      this.play(false);
      hold.setPointerCapture(event.pointerId);
      last = place(event);
    });
    hold.addEventListener("pointermove", (event) => {
      if (last === null) return;
      const now = place(event);
      const { turns, size, angle_rad: angle, centre } = this.score.drag;
      const [dx, dy] = [now[0] - last[0], now[1] - last[1]];
      if (turns) {
        const turned = Math.atan2(now[1] - centre[1], now[0] - centre[0]) - Math.atan2(last[1] - centre[1], last[0] - centre[0]);
        this.stand(this.u + (turned - TURN * Math.round(turned / TURN)) / TURN / size);
      } else this.stand(this.u + (dx * Math.cos(angle) + dy * Math.sin(angle)) / size);
      last = now;
    });
    const end = () => { last = null; };
    for (const name of ["pointerup", "pointercancel", "lostpointercapture"]) hold.addEventListener(name, end);
  }

  // -- what a take brings --

  get score() {
    return this.scene?.takes[this.take].score;
  }

  /** Locked until its question is answered or left. */
  get locked() {
    return this.scene.takes[this.take].ask !== null && this.answers[this.take] === null;
  }

  setTake(index) {
    const { parts, words } = this;
    this.take = index;
    const { name, score, ask, lists } = this.scene.takes[index];
    this.mark(index);
    const [x0, y0, x1, y1] = score.view;
    parts.whole.style.setProperty("--tall", (y1 - y0) / (x1 - x0));
    this.name(score);
    parts.said.replaceChildren(parts.now, ...score.said.map((one) => {
      const room = make("p", {}, one.words);
      room.setAttribute("aria-hidden", "true");
      return room;
    }));
    parts.readings.replaceChildren(...score.readings.map((one) => {
      // room for the longest figure, and for a remark also where it is not told, so that nothing jumps
      const shown = make("span", { className: "figure" });
      shown.style.minWidth = `${Math.max(...PLACES.map((u) => 0.9 * wordsAt(one.shown, score, u).length))}ch`;
      const cell = make("div", {}, make("dt", {}, one.title), make("dd", {}, shown));
      if (one.remark) cell.lastChild.append(" ", make("small", {}, `(${one.remark})`));
      cell.dataset.reading = one.name;
      return cell;
    }));
    const lines = (words, hidden) => words.map((one) => make("li", { className: hidden ? "late" : "" }, one));
    parts.lists.replaceChildren(...lists.map((one) =>
      make("div", {}, make("h3", {}, one.title), make("ul", {}, ...lines(one.lines, false), ...lines(one.late, true)))));
    parts.stops.querySelectorAll("button").forEach((old) => old.remove());
    parts.stops.append(...score.moments.map((one) => {
      const button = make("button", { type: "button" }, one.title);
      button.dataset.moment = one.name;
      button.addEventListener("click", () => this.goTo(one.at));
      return button;
    }));
    say(parts.words, score.description);
    say(parts.hands, words.by_keys);
    this.around(name);
    this.put(ask);
    this.fit();
    this.stand(this.locked ? 0 : this.u);
    this.play(false);
  }

  /** Puts the page's own words to this take in their places: those of the take, else those of the scene. */
  around(take) {
    for (const slot of this.parts.slots) {
      const [what] = slot.name.split("-");
      const own = `${what}-${take}`;
      slot.name = this.querySelector(`[slot="${own}"]`) ? own : what;
    }
  }

  /** The picture for those who do not see it, and for the hand. */
  name({ title, drag }) {
    const { hold } = this.parts;
    const about = { role: drag ? "slider" : "img", "aria-label": drag ? `${title}. ${this.words.drag.replace("{what}", drag.what)}` : title };
    const range = { tabindex: "0", "aria-valuemin": "0", "aria-valuemax": "100", "aria-valuenow": "0" };
    for (const name of Object.keys(range)) hold.removeAttribute(name);
    for (const [name, value] of Object.entries({ ...about, ...(drag ? range : {}) })) hold.setAttribute(name, value);
    hold.classList.toggle("drags", Boolean(drag));
    const across = drag && !drag.turns && Math.abs(Math.sin(drag.angle_rad)) < 0.5;
    hold.style.touchAction = !drag ? "auto" : across ? "pan-y" : "none";
    hold.title = drag ? this.words.drag.replace("{what}", drag.what) : "";
  }

  /** Puts the question. */
  put(ask) {
    const { parts } = this;
    parts.ask.hidden = !ask;
    this.free();
    if (!ask) return;
    say(parts.question, ask.question);
    parts.choices.replaceChildren(...mixed(ask.choices).map((index) => {
      const button = make("button", { type: "button" }, ask.choices[index].words);
      button.dataset.choice = index;
      button.addEventListener("click", () => this.answer(index));
      return button;
    }));
    this.judge();
  }

  /** Takes an answer, -1 for none; from then on the picture may be moved. */
  answer(index) {
    this.answers[this.take] = index;
    this.judge();
    this.free();
    this.ask();
    if (index < 0) this.parts.play.focus();
  }

  /** What goes by without an answer while the picture waits for one, and opens the answers again afterwards. */
  leave() {
    const { ask, choices } = this.parts;
    if (this.locked) this.answer(-1);
    else {
      ask.classList.remove("done");
      this.parts.skip.hidden = true;
      choices.querySelector("button").focus();
    }
  }

  judge() {
    const { parts, words } = this;
    const given = this.answers[this.take];
    parts.ask.classList.toggle("done", given !== null);
    parts.skip.hidden = false;
    say(parts.skip, given === null ? words.skip : given < 0 ? words.again : words.other);
    parts.choices.querySelectorAll("button").forEach((button) =>
      button.setAttribute("aria-pressed", String(Number(button.dataset.choice) === given)));
    if (given === null || given < 0) {
      parts.verdict.replaceChildren();
      return;
    }
    const choice = this.scene.takes[this.take].ask.choices[given];
    parts.verdict.classList.toggle("slip", !choice.right);
    parts.verdict.replaceChildren(make("b", {}, choice.right ? words.right : words.slip), ` ${choice.why}`);
  }

  free() {
    const { parts, locked } = this;
    for (const one of [parts.play, parts.home, parts.way, ...parts.stops.querySelectorAll("button")]) one.disabled = locked;
    parts.whole.classList.toggle("waits", locked);
    // what is said before it moves stands where captions and readings will stand, then makes room for them
    if (locked) parts.lists.before(parts.intro);
    else parts.side.append(parts.intro);
    // what is said, and what does not follow u, may be the answer
    parts.readings.hidden = locked;
    for (const late of parts.lists.querySelectorAll(".late")) late.hidden = locked;
    if (locked) parts.hold.removeAttribute("aria-describedby");
    else parts.hold.setAttribute("aria-describedby", "words");
    parts.stops.hidden = locked || this.score.moments.length === 0;
    if (this.score.drag) parts.hold.setAttribute("aria-disabled", String(locked));
    else parts.hold.removeAttribute("aria-disabled");
  }

  // -- time --

  play(on) {
    if (on && this.locked) return;
    if (on && !this.score.loop && this.u >= 1) this.u = 0;
    Object.assign(this, { playing: on, glide: null, before: null });
    say(this.parts.play, on ? this.words.stop : this.words.play);
    if (on) this.ask();
  }

  /** Stands still at u; a picture that plays in a loop goes round. */
  stand(u) {
    if (this.playing || this.glide) this.play(false);
    this.u = this.score.loop && (u < 0 || u > 1) ? u - Math.floor(u) : clamp(u, 0, 1);
    this.ask();
  }

  /** Plays to a place and stops there. */
  goTo(u) {
    this.play(false);
    const seconds = clamp((Math.abs(u - this.u) * this.score.seconds) / this.speed, ...GLIDE_S);
    if (this.calm.matches) this.stand(u);
    else this.glide = { from: this.u, to: u, seconds, gone: 0 };
    this.ask();
  }

  /** To the next stop on or back; a tenth of the way where there are none. */
  hop(way) {
    const stops = this.score.moments.map((one) => one.at);
    const next = way > 0 ? stops.filter((at) => at > this.u + 1e-6) : stops.filter((at) => at < this.u - 1e-6);
    if (stops.length) this.goTo(next.length ? (way > 0 ? Math.min(...next) : Math.max(...next)) : way > 0 ? 1 : 0);
    else this.stand(this.u + way / 10);
  }

  move(now) {
    const passed = this.before == null ? 0 : (now - this.before) / 1000;
    if (this.glide) {
      const { from, to, seconds } = this.glide;
      const share = Math.min(1, (this.glide.gone += passed) / seconds);
      this.u = share === 1 ? to : from + (to - from) * share;
      if (share === 1) this.play(false);
    } else if (this.playing) {
      if (this.calm.matches && passed > 0 && passed < CALM_STEP_S) return;
      const step = this.calm.matches && passed > 0 ? 1 / CALM_STEPS : (passed * this.speed) / this.score.seconds;
      const u = this.u + step;
      this.u = this.score.loop ? u - Math.floor(u) : Math.min(u, 1);
      if (this.u === 1 && !this.score.loop) this.play(false);
    }
    this.before = now;
  }

  get ready() {
    return Boolean(this.score);
  }

  // -- what is shown --

  /** `all`: also what is out of view. */
  draw(all = false) {
    const { score, parts, u, scene, take, locked } = this;
    if (all || this.seen) this.paint();
    const told = [];
    score.readings.forEach((one, index) => {
      const [words, remark] = [wordsAt(one.shown, score, u), remarkAt(one, score, u)];
      const cell = parts.readings.children[index].lastChild;
      say(cell.firstChild, words);
      if (one.remark) cell.lastChild.classList.toggle("away", !remark);
      told.push(`${one.title} ${words}${remark && ` (${remark})`}`);
    });
    const caption = locked ? "" : captionAt(score, u);
    say(parts.now, caption);
    parts.way.value = u;
    const spoken = locked ? scene.takes[take].ask.question : told.join(", ") || caption;
    parts.way.setAttribute("aria-valuetext", spoken);
    if (score.drag) {
      parts.hold.setAttribute("aria-valuenow", String(Math.round(100 * u)));
      parts.hold.setAttribute("aria-valuetext", spoken);
    }
    this.dispatchEvent(new CustomEvent("moved", { detail: { take: scene.takes[take].name, u } }));
  }

  paint() {
    const { clientWidth: width, clientHeight: height } = this.parts.look;
    if (!width) return;
    const style = getComputedStyle(this);
    if (!this.colours) {
      this.colours = new Proxy({}, {
        get: (kept, role) => (kept[role] ??= style.getPropertyValue(`--lw-${String(role).replaceAll("_", "-")}`).trim()),
      });
    }
    const type = parseFloat(getComputedStyle(document.documentElement).fontSize) / 16;
    const size = clamp(width / DESIGNED_PX, LEAST_SIZE, 3) * clamp(type, 1, 1.3);
    const density = (window.devicePixelRatio || 1) * size;
    const sheet = { width: width / size, height: height / size, density, colours: this.colours, font: style.fontFamily };
    this.painter.paint(pictureAt(this.score, this.u, this.locked), sheet);
  }
}

// ---- 2 look ---------------------------------------------------------------------------------------------------

/** `<lobewright-look words="id">`: buttons for big type (projectors) and for light or dark paper; printing is on light paper. */
export class PageLook extends Base {
  connectedCallback() {
    if (this.firstChild) return;
    const words = JSON.parse(document.getElementById(this.getAttribute("words")).textContent);
    const page = document.documentElement;
    const tell = () => document.dispatchEvent(new CustomEvent("lobewright-look"));
    const button = (key, act) => {
      const made = make("button", { type: "button" }, words[key]);
      made.addEventListener("click", () => {
        act(made);
        tell();
      });
      this.append(made);
      return made;
    };
    const big = button("big", () => {
      const on = page.toggleAttribute("data-big");
      big.setAttribute("aria-pressed", String(on));
    });
    big.setAttribute("aria-pressed", "false");
    const dark = () => (page.dataset.paper ?? (matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light")) === "dark";
    button("paper", () => { page.dataset.paper = dark() ? "light" : "dark"; });
    let [kept, shut] = [null, []];
    addEventListener("beforeprint", () => {
      kept = page.dataset.paper;
      shut = [...document.querySelectorAll("details:not([open])")];
      for (const one of shut) one.open = true;
      page.dataset.paper = "light";
      tell();
    });
    addEventListener("afterprint", () => {
      for (const one of shut) one.open = false;
      if (kept) page.dataset.paper = kept;
      else delete page.dataset.paper;
      tell();
    });
  }
}

globalThis.customElements?.define("lobewright-scene", ScenePlayer);
globalThis.customElements?.define("lobewright-look", PageLook);

// One kind of long work: begin it, see how far it is and how long it may still take, stop it. What it found is the view's to
// show: `done(job)` is called for the newest finished job of the open design, also for one that ended before the page was
// loaded; `done(null)` where there is none. Where that rejects with an ApiFault, it is said here.
import { ApiFault } from "./api.js";
import { element } from "./dom.js";

export class JobLine {
  /** `begin`: words of the button; `words`: what it does and how long that takes, one sentence; `wants`: gives what else is
   * chosen when it is begun, null while that cannot be done. */
  constructor(store, kind, { begin, words, done, wants = () => ({}) }) {
    this.store = store;
    this.wants = wants;
    this.kind = kind;
    this.done = done;
    this.told = ""; // what `done` was last called with
    this.asking = false; // it was asked to begin or to stop, and there is no answer yet
    this.button = element("button", { type: "button", textContent: begin });
    this.button.addEventListener("click", () => this.try(() => store.beginJob(kind, this.wants())));
    this.end = element("button", { type: "button", className: "quiet", textContent: "Stop it", hidden: true });
    this.end.addEventListener("click", () => this.try(() => store.stopJob(this.job.number)));
    this.bar = element("progress", { max: 1, value: 0, hidden: true });
    this.bar.setAttribute("aria-label", begin);
    this.word = element("p", { className: "words" });
    this.phase = element("p", { className: "words" });
    this.phase.setAttribute("role", "status");
    this.fault = element("p", { className: "fault", hidden: true });
    this.root = element("div", { className: "job" }, element("p", { className: "words", textContent: words }),
      element("div", { className: "line" }, this.button, this.end, this.bar), this.word, this.phase, this.fault);
    this.root.dataset.job = kind;
    store.addEventListener("jobs", () => this.show());
    store.addEventListener("state", () => this.show());
    store.addEventListener("link", ({ detail: linked }) => linked && this.show()); // what could not be fetched is fetched now
    this.show();
  }

  async try(act) {
    if (this.asking) return; // pressed twice it would be refused
    this.asking = true;
    this.fault.hidden = true;
    try {
      await act();
    } catch (fault) {
      this.say(fault instanceof ApiFault ? fault.message : "The program does not answer.");
    }
    this.asking = false;
  }

  say(words) {
    this.fault.textContent = words;
    this.fault.hidden = false;
  }

  show() {
    const { open } = this.store.state ?? {};
    const mine = this.store.jobs.filter((job) => job.kind === this.kind);
    this.job = mine.find((job) => job.phase === "running") ?? mine.find((job) => job.file === open?.file);
    const running = this.job?.phase === "running";
    this.button.disabled = running || !open || !this.wants();
    this.end.hidden = this.bar.hidden = !running;
    if (running) this.bar.value = this.job.share;
    this.word.textContent = running ? progress(this.job, open?.file) : "";
    const phase = this.job && !running ? ended(this.job) : running ? "Under way." : "";
    if (this.phase.textContent !== phase) this.phase.textContent = phase;
    this.finish(mine.find((job) => job.phase === "done" && job.file === open?.file) ?? null, open);
    this.failed(this.job);
  }

  async finish(job, open) {
    const told = open && `${job?.number} ${open.file}`;
    if (!open || told === this.told) return;
    this.told = told;
    try {
      await this.done(job);
    } catch (fault) {
      if (!(fault instanceof ApiFault)) throw fault;
      if (this.told !== told) return;
      if (fault.status === 0) this.told = "";
      this.say(`What was found cannot be shown. ${fault.message}`);
    }
  }

  /** Why the newest job found nothing: the faults that the command would print. */
  async failed(job) {
    const number = job?.phase === "fault" ? job.number : 0;
    if (number === this.failedNumber) return;
    this.failedNumber = number;
    this.fault.hidden = true;
    if (!number) return;
    try {
      const { faults } = await this.store.result(number);
      this.say(faults.map((one) => one.sentence).join(" "));
    } catch (fault) {
      this.say(`${job.word[0].toUpperCase()}${job.word.slice(1)}`);
    }
  }
}

function progress(job, file) {
  const parts = [job.word, `${Math.round(job.share * 100)} %`];
  if (job.left_s !== null) parts.push(`about ${duration(job.left_s)} left`);
  if (job.file !== file) parts.push(`for ${job.file}`);
  return parts.join(", ");
}

function ended(job) {
  if (job.phase === "done") return `Done, took ${duration(job.seconds)}.`;
  return job.phase === "stopped" ? (job.word === "stopped" ? "Stopped." : `Stopped: ${job.word}.`) : "It did not come to an end:";
}

export function duration(seconds) {
  if (seconds < 90) return `${Math.max(1, Math.round(seconds))} s`;
  return seconds < 5400 ? `${Math.round(seconds / 60)} min` : `${(seconds / 3600).toFixed(1)} h`;
}

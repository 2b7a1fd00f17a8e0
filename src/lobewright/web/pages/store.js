// What the page knows: the open design as the server has it, the last look at it, the jobs. The design lives on the server;
// this is a copy that follows it. Views listen to it and never talk to one another.
//
// Events (CustomEvent, detail as told):
//   state  the design or its file changed: detail = state of /api/state
//   look   a look came: detail = look of /api/look with its `edits`; `coarse` while something is being moved
//   moving a coarse look is asked for: detail = { file, revision, edits, coarse }; the look that comes has the same `edits`
//   owed   a whole look was asked for and could not be had: what is shown is of an earlier state until the next look
//   push   a look under torque came: detail = answer of /api/push, the `file` and `edits` of the look that it belongs to, see pushes.js
//   news   the server was heard
//   stepped  a change was taken back, or brought back, in this page
//   jobs   detail = list of jobs
//   fault  something could not be done: detail = ApiFault
//   link   the server answers or not: detail = true or false
import { ApiFault, ask, tell } from "./api.js";

const NEWS_MS = 1000;
const CHANGED = 409; // another design, or another state of it, is open than was meant

export class Store extends EventTarget {
  state = null;
  look = null;
  jobs = [];
  linked = true;
  #moving = null; // edits being moved, not yet asked
  #asking = false;
  #wanted = 0; // counts what was asked for, so that a late answer does not win
  #hearing = false; // news are asked and not there yet
  #owed = false; // a look at the design as it is kept was asked for and is not there yet
  #looking = 0; // such looks under way
  #jobChanges = 0; // counts jobs begun and stopped here, so that news from before one do not undo it here
  #changes = 0; // counts changes as they begin and end, so that news from before one do not undo it here
  #last = Promise.resolve(); // the change before, for changes are made one after the other

  async begin() {
    await this.#take(await ask("/api/state"));
    this.#news();
  }

  #emit(type, detail) {
    this.dispatchEvent(new CustomEvent(type, { detail }));
  }

  async #take(state) {
    const before = this.state?.open;
    const { open } = state;
    this.state = state;
    this.#emit("state", state);
    if (open && (!before || before.revision !== open.revision || before.file !== open.file)) await this.lookAgain();
  }

  /** A fine look at the design as it is kept. Where it fails it is asked for again with the news. */
  async lookAgain() {
    const mine = ++this.#wanted;
    this.#owed = true;
    this.#looking += 1;
    try {
      const look = await tell("/api/look", { ...this.meant(), edits: [], coarse: false });
      if (mine !== this.#wanted) return;
      this.#owed = false;
      this.#seen({ ...look, edits: [] });
    } catch (fault) {
      if (mine === this.#wanted) this.#emit("owed");
      await this.#failed(fault);
    } finally {
      this.#looking -= 1;
    }
  }

  #seen(look) {
    this.look = look;
    this.#emit("look", look);
  }

  async #failed(fault) {
    if (!(fault instanceof ApiFault)) throw fault;
    if (fault.status === 0) this.#link(false);
    else await this.refused(fault);
  }

  /** Something was not done. Where that is because another design or state of it is open by now, that one is taken first. */
  async refused(fault) {
    if (fault.status === CHANGED) await this.#follow();
    this.#emit("fault", fault);
  }

  async #follow() {
    const at = this.#changes;
    try {
      const state = await ask("/api/state");
      if (at === this.#changes) this.#take(state);
    } catch (fault) {
      if (fault.status !== 0) throw fault;
      this.#link(false);
    }
  }

  /** Which design this page means, and which revision of it. */
  meant() {
    const { file = "", revision = 0 } = this.state?.open ?? {};
    return { file, revision };
  }

  /** Edits that are being moved: shown coarsely, not kept. Of many asked quickly only the newest is answered. */
  move(edits) {
    this.#moving = edits;
    this.#owed = false; // letting go asks for it
    if (!this.#asking) this.#askMoving();
  }

  async #askMoving() {
    this.#asking = true;
    while (this.#moving) {
      const edits = this.#moving;
      this.#moving = null;
      const mine = ++this.#wanted;
      const asked = { ...this.meant(), edits, coarse: true };
      this.#emit("moving", asked);
      try {
        const look = await tell("/api/look", asked);
        if (mine === this.#wanted) this.#seen({ ...look, edits });
      } catch (fault) {
        await this.#failed(fault);
      }
    }
    this.#asking = false;
  }

  /** Edits to keep: [{ place, value }] or [{ place, text }]. Rejects with an ApiFault where they cannot be. */
  async edit(edits) {
    this.#moving = null;
    const seen = this.#wanted;
    try {
      await this.#change("/api/edits", { edits, ...this.meant() });
    } finally {
      // What was moved and came back to where it was, or is refused, is no other revision; it is looked at in full all the same.
      const coarse = this.look?.coarse || this.#asking;
      if (coarse && !this.#moving && seen === this.#wanted) this.lookAgain();
    }
  }

  /** A change of what is kept; each waits for the one before, so that the last one asked is the last one made. `body` says
   * which design is meant when it is asked for; where another one is open when its turn comes, the server refuses it. It may be
   * a function, for what is known only then. */
  async #change(path, body) {
    const before = this.#last;
    let free;
    this.#last = new Promise((resolve) => { free = resolve; });
    await before;
    this.#changes += 1;
    try {
      const state = await tell(path, typeof body === "function" ? body() : body);
      this.#link(true);
      this.#take(state); // the look that follows is not waited for
    } catch (fault) {
      if (fault.status === 0) this.#link(false);
      if (fault.status === CHANGED) await this.refused(fault); // what shows the refusal beside it may be gone with the design
      throw fault;
    } finally {
      this.#changes += 1;
      free();
    }
  }

  /** Another kind of a table, one more, one less: change is "kind", "add" or "remove". */
  async table(place, change, kind = "") {
    await this.#change("/api/table", { place, change, kind, ...this.meant() });
  }

  /** Back (−1) or forth (1). */
  async step(by) {
    const { file } = this.meant();
    await this.#change("/api/step", () => ({ by, file, revision: this.meant().revision }));
  }

  async open(file) {
    await this.#change("/api/open", { file });
  }

  /** A new design file with its text, open from now on. Rejects with an ApiFault where there is one of this name. */
  async add(file, text) {
    await this.#change("/api/new", { file, text });
  }

  /** `wants`: what else is chosen for it, as /api/jobs takes it. */
  async beginJob(kind, wants = {}) {
    const job = await tell("/api/jobs", { kind, ...wants, ...this.meant() }).catch(async (fault) => {
      if (fault.status === CHANGED) await this.refused(fault);
      throw fault;
    });
    this.#job(job);
    return job;
  }

  async stopJob(number) {
    this.#job(await tell(`/api/jobs/${number}/stop`));
  }

  /** A job as the server has just told it; the news follow. */
  #job(job) {
    this.#jobChanges += 1;
    this.jobs = [job, ...this.jobs].filter((one, at, all) => at === all.findIndex(({ number }) => number === one.number))
      .sort((one, other) => other.number - one.number);
    this.#emit("jobs", this.jobs);
  }

  result(number) {
    return ask(`/api/jobs/${number}/result`);
  }

  /** Asks for news every second while the page is seen. */
  #news() {
    setInterval(() => {
      if (document.visibilityState === "visible") this.#ask();
    }, NEWS_MS);
    document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && this.#ask());
    this.#ask();
  }

  async #ask() {
    if (this.#hearing) return;
    this.#hearing = true;
    const at = this.#changes;
    const jobsAt = this.#jobChanges;
    try {
      const news = await ask("/api/news");
      this.#link(true);
      if (jobsAt === this.#jobChanges && JSON.stringify(news.jobs) !== JSON.stringify(this.jobs)) {
        this.jobs = news.jobs;
        this.#emit("jobs", this.jobs);
      }
      const open = this.state?.open;
      this.#emit("news");
      if (at !== this.#changes) return;
      if (news.file !== (open?.file ?? "") || news.revision !== (open?.revision ?? 0)) await this.#follow();
      else if (this.#owed && !this.#looking && !this.#asking) this.lookAgain();
    } catch (fault) {
      if (fault.status === 0) this.#link(false);
      else if (fault instanceof ApiFault) this.#emit("fault", fault);
      else throw fault;
    } finally {
      this.#hearing = false;
    }
  }

  #link(linked) {
    if (linked === this.linked) return;
    this.linked = linked;
    this.#emit("link", linked);
  }
}

// Looks under torque: one after every fine look at the design, one beside every coarse one, for there it counts when it is
// there, and one for every torque that is asked for. Of many asked quickly only the newest is answered; each answer goes out as
// the store's event `push`.
import { ApiFault, tell } from "./api.js";

const CHANGED = 409; // another design is open than was meant
const FAILED = 500; // the program's own failure: asked again

export class Pushes {
  #store;
  #wanted = null; // the newest question that was not asked yet
  #asking = false;
  #torque = null; // N·m; null: the largest steady torque of the duty
  #look = null; // the look that is asked about: its file, revision, edits, and whether it is coarse
  #owed = null; // a question that nobody could answer, asked again with the news
  #file = "";
  #asked = 0; // counts questions, so that a late answer to an earlier one is not told after a later one
  #heard = 0; // the newest question that was answered

  constructor(store) {
    this.#store = store;
    store.addEventListener("state", ({ detail }) => {
      const file = detail.open?.file ?? "";
      if (file !== this.#file) this.#torque = null;
      this.#file = file;
    });
    const about = ({ detail }) => {
      this.#look = detail;
      this.#want({ torque_Nm: this.#torque });
    };
    store.addEventListener("moving", about);
    store.addEventListener("look", (event) => {
      if (event.detail.ok && event.detail.edits !== this.#look?.edits) about(event);
    });
    store.addEventListener("news", () => {
      if (!this.#owed || this.#asking) return;
      this.#wanted = this.#owed;
      this.#ask();
    });
  }

  /** A torque in N·m, while it is being moved or when it is chosen. */
  at(torque) {
    this.#torque = torque;
    this.#want({ torque_Nm: torque });
  }

  /** A torque as it is typed, with a unit or without. Rejects with an ApiFault where it is none. */
  async typed(text) {
    this.#wanted = null;
    const look = this.#look;
    const mine = ++this.#asked;
    const answer = await tell("/api/push", { ...this.#design(look), text });
    if (answer.ok && mine > this.#heard) this.#torque = answer.asked_Nm;
    this.#told(answer, look, mine);
    if (this.#asking) this.#want({ torque_Nm: this.#torque }); // what came between asked for the torque before
  }

  #want(torque) {
    this.#wanted = { look: this.#look, torque };
    if (!this.#asking) this.#ask();
  }

  #design(look) {
    return { file: look?.file ?? "", revision: look?.revision ?? 0, edits: look?.edits ?? [], coarse: Boolean(look?.coarse) };
  }

  async #ask() {
    this.#asking = true;
    while (this.#wanted) {
      const asked = this.#wanted;
      this.#wanted = null;
      this.#owed = null;
      const mine = ++this.#asked;
      try {
        const answer = await tell("/api/push", { ...this.#design(asked.look), ...asked.torque });
        this.#told(answer, asked.look, mine);
      } catch (fault) {
        if (!(fault instanceof ApiFault)) throw fault;
        if (fault.status === CHANGED) continue; // the store hears of the other design, and a look at it comes
        if (fault.status === 0 || fault.status >= FAILED) this.#owed = asked;
        if (fault.status) this.#told({ ok: false, coarse: Boolean(asked.look?.coarse), faults: fault.faults }, asked.look, mine);
      }
    }
    this.#asking = false;
  }

  #told(answer, look, number) {
    if (number < this.#heard) return;
    this.#heard = number;
    this.#store.dispatchEvent(new CustomEvent("push", { detail: { ...answer, file: look?.file, edits: look?.edits } }));
  }
}

// Looks under torque: one after every look at the design, and one for every torque that is asked for. Of many asked quickly only
// the newest is answered; each answer goes out as the store's event `push`.
import { ApiFault, tell } from "./api.js";

export class Pushes {
  #store;
  #wanted = null; // the newest question that was not asked yet
  #asking = false;
  #torque = null; // N·m; null: the largest steady torque of the duty
  #design = { edits: [], coarse: false };
  #file = "";

  constructor(store) {
    this.#store = store;
    store.addEventListener("state", ({ detail }) => {
      const file = detail.open?.file ?? "";
      if (file !== this.#file) this.#torque = null;
      this.#file = file;
    });
    store.addEventListener("look", ({ detail }) => {
      if (!detail.ok) return;
      this.#design = { edits: detail.edits, coarse: detail.coarse };
      this.#want({ torque_Nm: this.#torque });
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
    const answer = await tell("/api/push", { ...this.#design, text });
    if (answer.ok) this.#torque = answer.asked_Nm;
    this.#told(answer);
    if (this.#asking) this.#want({ torque_Nm: this.#torque }); // what came between asked for the torque before
  }

  #want(torque) {
    this.#wanted = { ...this.#design, ...torque };
    if (!this.#asking) this.#ask();
  }

  async #ask() {
    this.#asking = true;
    while (this.#wanted) {
      const asked = this.#wanted;
      this.#wanted = null;
      try {
        this.#told(await tell("/api/push", asked));
      } catch (fault) {
        if (!(fault instanceof ApiFault)) throw fault;
        if (fault.status) this.#told({ ok: false, coarse: asked.coarse, faults: fault.faults });
      }
    }
    this.#asking = false;
  }

  #told(answer) {
    this.#store.dispatchEvent(new CustomEvent("push", { detail: answer }));
  }
}

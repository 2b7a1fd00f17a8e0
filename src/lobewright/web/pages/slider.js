// A slider beside a number. It reaches some way to either side of the value, inside what is allowed; where the value has reached
// an end, the next grip reaches further. What is moved is shown at once; it is kept when it is let go, or, moved by keys, when
// the keys rest.
import { element } from "./dom.js";

const MOVE_SHARE = 0.3; // of the value
const LEAST_REACH_MM = 0.1; // for lengths, which are often small or 0
const WHOLE_REACH = 20; // for counts
const KEY_REST_MS = 450;

/** How far a slider reaches, its step and its ends, for a value and what is allowed. */
export function reachOf(value, { low, high, type, open_low, open_high, unit }) {
  const whole = type === "whole";
  const usual = Math.abs(value) * MOVE_SHARE || Math.min(1, ((high ?? 1) - (low ?? 0)) / 4);
  const reach = whole ? WHOLE_REACH : unit === "mm" ? Math.max(usual, LEAST_REACH_MM) : usual;
  const step = whole ? 1 : 10 ** Math.floor(Math.log10(reach / 20) + 1e-9);
  const steps = (room, open) => Math.max(0, Math.floor(Math.min(reach, room) / step - (open && room <= reach ? 1e-3 : -1e-9)));
  const down = steps(value - (low ?? -Infinity), open_low);
  const up = steps((high ?? Infinity) - value, open_high);
  return { step, min: value - down * step, max: value + up * step };
}

export class Slider {
  /** `moved(value)` while it moves, `kept(value)` when it is let go. */
  constructor(id, label, { moved, kept }) {
    this.root = element("input", { type: "range", id });
    this.root.setAttribute("aria-label", label);
    this.busy = false;
    let byKey = false;
    let rest = 0;
    const keep = () => {
      clearTimeout(rest);
      if (!this.busy) return;
      this.busy = false;
      kept(this.value);
    };
    this.root.addEventListener("keydown", () => { byKey = true; });
    this.root.addEventListener("pointerdown", () => { byKey = false; });
    this.root.addEventListener("input", () => {
      this.busy = true;
      this.speak();
      moved(this.value);
    });
    this.root.addEventListener("change", () => {
      clearTimeout(rest);
      if (byKey) rest = setTimeout(keep, KEY_REST_MS);
      else keep();
    });
    this.root.addEventListener("blur", keep);
  }

  get value() {
    return Number(this.root.valueAsNumber.toFixed(9));
  }

  /** What a screen reader says of where it stands. */
  speak() {
    this.root.setAttribute("aria-valuetext", this.words(this.value));
  }

  /** `words` tells a value with its unit. */
  show(value, entry, words) {
    if (this.busy) return;
    this.words = words;
    const { step, min, max } = reachOf(value, entry);
    Object.assign(this.root, { step, min, max, value });
    this.speak();
  }
}

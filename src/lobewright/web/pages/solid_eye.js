// From where the drive is seen, and the hand that turns it. Angles in degrees as in the printed pictures: to the right of its
// front, and above its axis.

export const PLACES = [
  { name: "front", words: "its front, from the left and above", right: -42, above: 26 },
  { name: "back", words: "its back, from the left and above", right: -138, above: 26 },
  { name: "facing", words: "its front, straight", right: 0, above: 0 },
  { name: "behind", words: "its back, straight", right: 180, above: 0 },
  { name: "left", words: "its left side", right: -90, above: 0 },
  { name: "top", words: "it from above", right: 0, above: 90 },
];
const STEP_DEG = 7.5;
const DEG_A_PX = 0.4;
const NEARER = 1.2;
const [LEAST_ZOOM, MOST_ZOOM] = [0.4, 12];
const KEYS = { ArrowLeft: [1, 0], ArrowRight: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

/** Right, up and towards the eye, in the drive's coordinates. */
export function axesOf({ right, above }) {
  const [a, e] = [right, above].map((degrees) => (degrees * Math.PI) / 180);
  return [
    [Math.cos(a), 0, -Math.sin(a)],
    [-Math.sin(e) * Math.sin(a), Math.cos(e), -Math.sin(e) * Math.cos(a)],
    [Math.cos(e) * Math.sin(a), Math.sin(e), Math.cos(e) * Math.cos(a)],
  ];
}

/** A place to look from. Calls `changed` when it was moved. */
export class Eye {
  constructor(changed) {
    this.changed = changed;
    this.set(PLACES[0]);
  }

  /** Back to a named place, the whole drive in the picture. */
  set(place) {
    const { right, above } = place;
    Object.assign(this, { place, right, above, zoom: 1, shift: [0, 0] });
    this.changed();
  }

  orbit(right, above) {
    this.right = ((this.right + right + 540) % 360) - 180;
    this.above = Math.max(-90, Math.min(90, this.above + above));
    this.changed();
  }

  nearer(times) {
    const zoom = Math.max(LEAST_ZOOM, Math.min(MOST_ZOOM, this.zoom * times));
    this.shift = this.shift.map((part) => (part * zoom) / this.zoom);
    this.zoom = zoom;
    this.changed();
  }

  move(right, up) {
    this.shift = [this.shift[0] + right, this.shift[1] + up];
    this.changed();
  }

  get axes() {
    return axesOf(this);
  }

  get words() {
    const [right, above] = [Math.round(this.right), Math.round(this.above)];
    const side = right === 0 ? "from its front" : Math.abs(right) === 180 ? "from its back"
      : `${Math.abs(right)}° round to the ${right < 0 ? "left" : "right"} of its front`;
    return `Seen ${side}, ${above === 0 ? "level with its axis" : `${Math.abs(above)}° ${above < 0 ? "below" : "above"} its axis`}`;
  }
}

/** Lets pointers and keys turn the eye. `pointed(x, y)` hears where a pointer rests, (null) when it leaves. */
export function handle(canvas, eye, pointed) {
  const down = new Map();
  const apart = () => {
    const [a, b] = [...down.values()];
    return Math.hypot(a.x - b.x, a.y - b.y);
  };
  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    down.set(event.pointerId, { x: event.offsetX, y: event.offsetY });
    pointed(null);
  });
  canvas.addEventListener("pointermove", (event) => {
    const before = down.get(event.pointerId);
    if (!before) return pointed(event.offsetX, event.offsetY);
    const [dx, dy] = [event.offsetX - before.x, event.offsetY - before.y];
    const far = down.size === 2 ? apart() : 0;
    Object.assign(before, { x: event.offsetX, y: event.offsetY });
    if (down.size === 2) {
      eye.move(dx / 2, -dy / 2);
      if (far > 0) eye.nearer(apart() / far);
    } else if (event.shiftKey) eye.move(dx, -dy);
    else eye.orbit(-DEG_A_PX * dx, DEG_A_PX * dy);
  });
  for (const end of ["pointerup", "pointercancel"]) canvas.addEventListener(end, (event) => down.delete(event.pointerId));
  canvas.addEventListener("pointerleave", () => pointed(null));
  canvas.addEventListener("wheel", (event) => {
    if (!event.ctrlKey) return; // a plain wheel moves the page
    event.preventDefault();
    eye.nearer(NEARER ** (-event.deltaY / 100));
  }, { passive: false });
  canvas.addEventListener("keydown", (event) => {
    const way = KEYS[event.key];
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    if (way && event.shiftKey) eye.move(-40 * way[0], 40 * way[1]);
    else if (way) eye.orbit(-STEP_DEG * way[0], STEP_DEG * way[1]);
    else if (event.key === "+" || event.key === "=") eye.nearer(NEARER);
    else if (event.key === "-") eye.nearer(1 / NEARER);
    else if (event.key === "0") eye.set(PLACES[0]);
    else return;
    event.preventDefault();
  });
}

/** Buttons that do the same without dragging. */
export const nearer = (eye) => eye.nearer(NEARER);
export const farther = (eye) => eye.nearer(1 / NEARER);

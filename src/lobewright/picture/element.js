// What the moving elements of the pages share. It knows nothing of what they paint.

/** Where there is no document, modules are loaded for their pure parts all the same. */
export const Base = globalThis.HTMLElement ?? class {};

/** Sets words where they differ, so that nothing is laid out or spoken anew for nothing. */
export function say(target, words) {
  if (target.textContent !== words) target.textContent = words;
}

/**
 * An element that paints when it is asked. What comes of it has `ready`, whether there is something to paint, `move(now)`,
 * `draw()`, and `playing` or `glide` while it goes on by itself.
 */
export class Painting extends Base {
  /** One frame, soon; many asks make one frame. */
  ask() {
    if (!this.ready || this.asked) return;
    this.asked = true;
    requestAnimationFrame((now) => {
      this.asked = false;
      if (!this.isConnected) return;
      this.move(now);
      this.draw();
      if (this.playing || this.glide) this.ask();
    });
  }
}

// The drive as it turns: the element of the exported page, fed with every look and with what a torque does to it.
import "./moving.js";
import { ask } from "./api.js";
import { element, setText } from "./dom.js";

export const id = "motion";
export const title = "How it moves";

const OLD = "This is the drive as it was: what is written now cannot be one.";

export async function mount(root, store) {
  const moving = element("lobewright-moving");
  const told = element("p", { className: "words", hidden: true });
  told.setAttribute("role", "status");
  root.append(told, moving);
  let palette = null;
  let look = null;
  let push = null; // what a torque does: loads and stress, and the edits of the look that it belongs to
  let [sent, came] = [0, null]; // angles: the last one told, the last one taken from another view

  function show() {
    if (!look || !palette) return;
    const fits = push?.file === look.file && sameTeeth(look.motion, push.loads);
    const parameters = fits ? { ...look.motion, loads: push.loads, ...(push.stress ? { stress: push.stress } : {}) } : look.motion;
    moving.show({ parameters, palette, rough: look.coarse, older: fits && push.edits !== look.edits, chosen: true });
  }

  store.addEventListener("look", ({ detail }) => {
    told.hidden = detail.ok;
    moving.classList.toggle("old", !detail.ok);
    if (!detail.ok) {
      setText(told, OLD);
      return;
    }
    look = detail;
    show();
  });
  store.addEventListener("push", ({ detail }) => {
    push = detail?.ok ? { loads: detail.loads, stress: detail.stress, file: detail.file, edits: detail.edits } : null;
    show();
  });
  moving.addEventListener("turned", ({ detail }) => {
    if (detail.rad === came || detail.rad === sent) return;
    sent = detail.rad;
    store.dispatchEvent(new CustomEvent("angle", { detail: { rad: sent, from: id } }));
  });
  store.addEventListener("angle", ({ detail }) => {
    if (detail.from === id || !look || !palette) return;
    came = detail.rad;
    moving.play(false);
    moving.angle = came;
  });
  palette = await ask("/pages/palette.json"); // what comes meanwhile is listened to
  show();
}

/** Whether loads are those of a drive with these rings and rows. */
function sameTeeth({ rings, rows, wheels }, loads) {
  return loads.cases.every((one) => one.rings.length === rings.length && one.rings.every((ring, index) =>
    ring.along_n.length === rows[rings[index].row].teeth && [0, 2 * wheels.length].includes(ring.wheels_n.length)));
}

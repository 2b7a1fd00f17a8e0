// The drive as it turns: the element of the exported page, fed with every look.
import "./moving.js";
import { ask } from "./api.js";

export const id = "motion";
export const title = "How it moves";

export async function mount(root, store) {
  const moving = document.createElement("lobewright-moving");
  root.append(moving);
  let looked = null;
  store.addEventListener("look", ({ detail }) => {
    if (!detail.ok) return;
    looked = detail;
    if (palette) moving.show({ parameters: detail.motion, palette });
  });
  let palette = null;
  palette = await ask("/pages/palette.json");
  if (looked) moving.show({ parameters: looked.motion, palette });
}

// The drive as it turns: the element of the exported page, fed with every look.
import "./moving.js";

export const id = "motion";
export const title = "How it moves";

export function mount(root, store) {
  const element = document.createElement("lobewright-moving");
  root.append(element);
  store.addEventListener("look", ({ detail: look }) => {
    if (look.ok) element.show({ parameters: look.motion });
  });
}

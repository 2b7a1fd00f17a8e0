// The page: what stands where, and which views there are. A view is a module with { id, title, mount(root, store) }.
import { Store } from "./store.js";
import { mountForm } from "./form.js";
import { mountHead } from "./head.js";
import { mountJudged } from "./judged.js";
import { views } from "./views.js";

const store = new Store();
mountHead(document.querySelector("#head"), store);
mountForm(document.querySelector("#form"), store);
mountJudged(document.querySelector("#judged"), store);
const stage = document.querySelector("#stage");
for (const view of views) {
  const section = document.createElement("section");
  section.id = view.id;
  section.setAttribute("aria-labelledby", `${view.id}-title`);
  const title = Object.assign(document.createElement("h2"), { id: `${view.id}-title`, textContent: view.title });
  const body = document.createElement("div");
  section.append(title, body);
  stage.append(section);
  view.mount(body, store);
}
await store.begin();
document.documentElement.dataset.ready = "true";

// The page: what stands where, and which views there are. A view is a module with { id, title, mount(root, store) }; one that
// says `always` is there without an open design too. The view `begin` comes first until something is open.
import { Store } from "./store.js";
import { element, setText } from "./dom.js";
import { mountForm } from "./form.js";
import { mountHead } from "./head.js";
import { mountJudged } from "./judged.js";
import { views } from "./views.js";

const store = new Store();
const stage = document.querySelector("#stage");
const form = document.querySelector("#form");
const judged = document.querySelector("#judged");
mountHead(document.querySelector("#head"), store);
mountForm(form, store);
mountJudged(judged, store);

const ways = new Map(); // id → link to a part of the page
const parts = [["form", "The design"], ["judged", "What follows"], ...views.map((view) => [view.id, view.title])];
for (const [id, title] of parts) ways.set(id, element("a", { href: `#${id}`, textContent: title }));
document.querySelector("#ways").replaceChildren(...ways.values());

const sections = new Map();
for (const view of views) {
  const section = element("section", { id: view.id, className: "view", tabIndex: -1 });
  section.setAttribute("aria-labelledby", `${view.id}-title`);
  const body = element("div");
  section.append(element("h2", { id: `${view.id}-title`, textContent: view.title }), body);
  stage.append(section);
  sections.set(view, section);
  view.mount(body, store);
}

// On a narrow page the entries and what follows stand right after the drive as it turns, not after all views.
const side = document.querySelector("#side");
// Of a workshop file there is nothing but its entries to see: they come first.
const narrow = matchMedia("(max-width: 62rem)");
let workshop = false; // what is open is no drive
function settle() {
  if (workshop) stage.before(side);
  else if (narrow.matches) sections.get(views[0]).after(side);
  else stage.after(side);
}
narrow.addEventListener("change", settle);
settle();

const lastGood = element("p", { className: "strong", hidden: true, textContent: "What is open cannot be built; the pictures are of the last that could." });
stage.prepend(lastGood);

function arrange({ open }) {
  document.documentElement.dataset.open = String(Boolean(open));
  document.documentElement.dataset.workshop = String(workshop);
  setText(ways.get("form"), workshop ? "The workshop" : "The design");
  form.hidden = judged.hidden = !open;
  for (const [view, section] of sections) section.hidden = (!open || workshop) && !view.always;
  for (const [id, link] of ways) link.hidden = document.getElementById(id).hidden;
  for (const [view, section] of sections) {
    if (!view.titleWhenOpen) continue;
    setText(section.firstChild, open ? view.titleWhenOpen : view.title);
    setText(ways.get(view.id), section.firstChild.textContent);
  }
}
store.addEventListener("state", ({ detail }) => arrange(detail));
store.addEventListener("look", ({ detail }) => {
  lastGood.hidden = detail.ok || Boolean(detail.workshop);
  if (Boolean(detail.workshop) === workshop) return;
  workshop = !workshop;
  settle();
  scrollTo(0, 0); // what was in sight stands elsewhere now
  arrange(store.state);
});
await store.begin();
document.documentElement.dataset.ready = "true";

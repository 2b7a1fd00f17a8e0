// The top of the page: the drive's name, its ratio, whether it holds; back and forth; which design is open.
import { ApiFault } from "./api.js";
import { element, sentence, setText } from "./dom.js";

const STATE_WORDS = { pass: "every quick check holds", warn: "holds, but barely", fail: "a check fails", "not made": "not all checked" };
const KEYS = "Ctrl+Z and Ctrl+Shift+Z do the same outside of text fields";

export function mountHead(root, store) {
  const name = element("h1", { textContent: "Lobewright" });
  const told = element("p", { className: "told" });
  const spoken = element("p", { className: "unseen" }); // read out when the state turns, not at every number
  spoken.setAttribute("role", "status");
  const fault = element("p", { className: "fault", hidden: true });
  fault.setAttribute("role", "alert");
  const link = element("p", { className: "link", hidden: true, textContent: "The program does not answer. Is it still running? What was kept up to here is in the file." });
  link.setAttribute("role", "alert");

  const say = ({ message, faults }) => {
    setText(fault, faults?.length && faults.every((one) => !one.place && !one.value) ? faults.map(sentence).join(" ") : message);
    fault.hidden = false;
  };
  const step = async (by) => {
    fault.hidden = true;
    try {
      await store.step(by);
      store.dispatchEvent(new CustomEvent("stepped"));
    } catch (wrong) {
      if (!(wrong instanceof ApiFault)) throw wrong;
      say(wrong);
    }
  };
  const back = stepper("undo", "Take back", "Control+Z", () => step(-1));
  const forth = stepper("redo", "Bring back", "Control+Shift+Z", () => step(1));
  const files = element("select", { id: "files" });
  files.addEventListener("change", () => files.value && store.open(files.value).catch((wrong) => {
    say(wrong);
    files.value = store.state.open?.file ?? "";
  }));
  const label = element("label", { htmlFor: "files", textContent: "Design" });
  const saved = element("p", { className: "words", id: "saved", textContent: `Saved as you go. ${KEYS}.` });
  for (const button of [back, forth]) button.setAttribute("aria-describedby", saved.id);
  root.replaceChildren(element("div", { className: "names" }, name, told),
    element("div", { className: "tools" }, label, files, back, forth, saved), spoken, fault, link);

  addEventListener("keydown", (event) => {
    const wanted = (event.ctrlKey || event.metaKey) && !event.altKey && event.key.toLowerCase() === "z";
    if (!wanted || typing(event.target)) return;
    event.preventDefault();
    const button = event.shiftKey ? forth : back;
    if (!button.disabled) button.click();
  });
  new ResizeObserver(() => document.documentElement.style.setProperty("--head", `${root.offsetHeight}px`)).observe(root);

  store.addEventListener("state", ({ detail: { open, designs: all, lessons } }) => {
    back.disabled = !open?.can_undo;
    forth.disabled = !open?.can_redo;
    saved.hidden = back.hidden = forth.hidden = !open;
    fault.hidden = true;
    const designs = all.filter((file) => file === open?.file || !lessons.includes(file)); // a lesson file is no design
    const wanted = JSON.stringify([designs, open?.file]);
    if (files.dataset.shown !== wanted) {
      files.dataset.shown = wanted;
      files.replaceChildren(...(open ? [] : [element("option", { value: "", textContent: "none open" })]),
        ...designs.map((file) => element("option", { value: file, textContent: stem(file), selected: file === open?.file })));
    }
    label.hidden = files.hidden = !designs.length;
    document.title = open ? `${stem(open.file)} – Lobewright` : "Lobewright";
    if (!open) setText(name, "Lobewright");
  });
  store.addEventListener("look", ({ detail }) => {
    if (detail.ok) setText(name, detail.name);
    else if (detail.workshop) setText(name, stem(store.state.open.file));
    const words = detail.ok ? STATE_WORDS[detail.state] : detail.workshop ? "a workshop file: what is owned and measured" : "this cannot be built as it stands";
    setText(told, detail.ok ? `${detail.ratio_text.replace("-", "−")}, ${words}` : words);
    told.dataset.state = detail.ok ? detail.state : detail.workshop ? "" : "fail";
    if (!detail.coarse) setText(spoken, words);
  });
  store.addEventListener("fault", ({ detail }) => say(detail));
  store.addEventListener("link", ({ detail }) => { link.hidden = detail; });
}

function stepper(id, words, keys, act) {
  const button = element("button", { type: "button", id, textContent: words });
  button.setAttribute("aria-keyshortcuts", keys);
  button.addEventListener("click", act);
  return button;
}

/** Fields where the browser itself takes back what was typed. */
function typing(target) {
  return target instanceof HTMLElement && target.matches("textarea, input:not([type=range], [type=checkbox], [type=radio])");
}

const stem = (file) => file.replace(/\.toml$/, "");

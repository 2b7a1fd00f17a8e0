// The top of the page: the drive's name, its ratio, whether it holds; back and forth; which design is open.
import { element } from "./dom.js";

const STATE_WORDS = { pass: "every check holds", warn: "holds, one check barely", fail: "a check fails", "not made": "not all checked" };

export function mountHead(root, store) {
  const name = element("h1", { textContent: "Lobewright" });
  const told = element("p", { className: "told" });
  told.setAttribute("aria-live", "polite");
  const back = element("button", { type: "button", id: "undo", textContent: "Take back" });
  const forth = element("button", { type: "button", id: "redo", textContent: "Bring back" });
  back.addEventListener("click", () => store.step(-1));
  forth.addEventListener("click", () => store.step(1));
  const link = element("p", { className: "link", role: "alert", hidden: true, textContent: "The program does not answer. Is it still running? Everything up to here is saved." });
  const files = element("select", { id: "files" });
  files.addEventListener("change", () => store.open(files.value));
  const label = element("label", { htmlFor: "files", textContent: "Design" });
  root.replaceChildren(element("div", { className: "names" }, name, told), element("div", { className: "tools" }, label, files, back, forth), link);
  store.addEventListener("state", ({ detail }) => {
    back.disabled = !detail.open?.can_undo;
    forth.disabled = !detail.open?.can_redo;
    files.replaceChildren(...(detail.open ? [] : [element("option", { value: "", textContent: "none open" })]),
      ...detail.designs.map((file) => element("option", { value: file, textContent: file.replace(/\.toml$/, ""), selected: file === detail.open?.file })));
    document.title = detail.open ? `${detail.open.file.replace(/\.toml$/, "")} – Lobewright` : "Lobewright";
  });
  store.addEventListener("look", ({ detail }) => {
    if (detail.ok) name.textContent = detail.name;
    told.textContent = detail.ok ? `${detail.ratio_text}, ${STATE_WORDS[detail.state]}` : "this cannot be built as it stands";
    told.dataset.state = detail.ok ? detail.state : "fail";
  });
  store.addEventListener("link", ({ detail }) => { link.hidden = detail; });
}

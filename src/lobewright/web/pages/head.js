// The top of the page: the drive's name, ratio and state; back and forth; what is open.

export function mountHead(root, store) {
  root.innerHTML = "";
  const name = Object.assign(document.createElement("h1"), { textContent: "Lobewright" });
  const back = Object.assign(document.createElement("button"), { type: "button", textContent: "Undo", id: "undo" });
  const forth = Object.assign(document.createElement("button"), { type: "button", textContent: "Redo", id: "redo" });
  back.addEventListener("click", () => store.step(-1));
  forth.addEventListener("click", () => store.step(1));
  root.append(name, back, forth);
  store.addEventListener("state", ({ detail }) => {
    back.disabled = !detail.open?.can_undo;
    forth.disabled = !detail.open?.can_redo;
  });
  store.addEventListener("look", ({ detail }) => {
    if (detail.ok) name.textContent = `${detail.name}, ${detail.ratio_text}`;
  });
}

// Numbers and verdicts of the last look.

export function mountJudged(root, store) {
  store.addEventListener("look", ({ detail: look }) => {
    root.textContent = look.ok ? look.headlines.map((row) => `${row.title}: ${row.text}`).join("\n")
      : look.faults.map((fault) => fault.sentence).join("\n");
  });
}

// From the design to things: print files, sheets and a guide. Two jobs write them into folders of the project; what they wrote
// is listed here and opens in a page of its own.
import { ApiFault, ask } from "./api.js";
import { element, setText, worded } from "./dom.js";
import { JobLine } from "./job.js";

export const id = "made";
export const title = "Make it";

const JOBS = {
  make: { begin: "Write everything to make it", words: "Assembly, print files, drawings, guide and parts list. It may take some minutes; you can go on meanwhile." },
  build: { begin: "Write the pages that show it", words: "The moving page, the report and figures for class. It may take some minutes; you can go on meanwhile." },
};
const FIRST = ["index.html", "guide.html", "report.html", "moving.html"]; // pages that are read first, in this order
const KINDS = [
  ["Pages to read", /\.(html|md|txt)$/],
  ["To print in plastic", /\.(3mf|stl)$/],
  ["Drawings and sheets", /\.(pdf|dxf|svg|png)$/],
  ["Solids", /\.(step|stp|glb)$/],
  ["Figures", /\.(csv|json|toml)$/],
];

export function mount(root, store) {
  new Made(root, store);
}

class Made {
  constructor(root, store) {
    this.store = store;
    this.root = root;
    this.lists = {};
    for (const [kind, words] of Object.entries(JOBS)) {
      const list = element("div", { className: "written" });
      this.lists[kind] = { list, stale: false };
      const line = new JobLine(store, kind, { ...words, done: (job, stale) => this.refresh(kind, stale) });
      root.append(line.root, list);
    }
    const all = element("a", { href: "/download", download: "project.zip", textContent: "Take everything as one archive" });
    this.away = element("p", {}, all, element("span", { className: "words", textContent: " All designs of the folder and what was written from them, as a ZIP file." }));
    this.fault = element("p", { className: "fault", hidden: true });
    this.fault.setAttribute("role", "alert");
    root.append(this.away, this.fault);
  }

  async refresh(kind, stale) {
    this.lists[kind].stale = stale;
    const mine = this.asked = (this.asked ?? 0) + 1;
    try {
      const found = await ask("/api/results");
      if (mine !== this.asked) return;
      this.fault.hidden = true;
      for (const [command, { list, stale: old }] of Object.entries(this.lists)) {
        const written = found.find((one) => one.command === command && one.design === this.store.state?.open?.file);
        list.replaceChildren(...(written?.files.length ? this.written(written, old) : []));
      }
    } catch (fault) {
      if (!(fault instanceof ApiFault)) throw fault;
      setText(this.fault, fault.message);
      this.fault.hidden = false;
    }
  }

  written({ folder, files }, stale) {
    const parts = [element("p", { className: "strong", textContent: `Written to ${folder}` })];
    if (stale) parts.push(element("p", { className: "words meanwhile", textContent: "The design may have changed since: write it anew before you print." }));
    const left = new Set(files);
    for (const [words, pattern] of KINDS) {
      const mine = [...left].filter((file) => pattern.test(file)).sort(byUse);
      for (const file of mine) left.delete(file);
      if (mine.length) parts.push(this.fold(words, folder, mine));
    }
    if (left.size) parts.push(this.fold("Others", folder, [...left]));
    return parts;
  }

  fold(words, folder, files) {
    const items = files.map((file) => element("li", {}, element("a", {
      href: `/results/${[folder, ...file.split("/")].map(encodeURIComponent).join("/")}`, target: "_blank", rel: "noopener", textContent: spoken(file),
    })));
    return element("details", { className: "group", open: words === KINDS[0][0] },
      element("summary", { textContent: `${words} (${files.length})` }), element("ul", { className: "files" }, ...items));
  }
}

function byUse(one, other) {
  const rank = (file) => (FIRST.includes(file) ? FIRST.indexOf(file) : FIRST.length + file.split("/").length);
  return rank(one) - rank(other) || one.localeCompare(other);
}

/** `print/rear_plate.3mf` → Rear plate (print, 3mf). */
function spoken(file) {
  const folders = file.split("/");
  const name = folders.pop();
  const dot = name.lastIndexOf(".");
  return `${worded(dot > 0 ? name.slice(0, dot) : name)} (${[...folders, name.slice(dot + 1)].join(", ")})`;
}

// From the design to things: print files, sheets and a guide. Two jobs write them into folders of the project; what they wrote
// is listed here and opens in a page of its own.
import { ask } from "./api.js";
import { element } from "./dom.js";
import { JobLine } from "./job.js";
import { Stale } from "./told.js";
import { listed } from "./written.js";

export const id = "made";
export const title = "Make it";

const JOBS = {
  make: { begin: "Write everything to make it", words: "Assembly, print files, drawings, guide and parts list. It may take some minutes; you can go on meanwhile." },
  build: { begin: "Write the pages that show it", words: "The moving page, the report and figures for class. It may take some minutes; you can go on meanwhile." },
};
const NAMES = {
  "guide.pdf": "The guide, step by step",
  "bom.html": "Parts list",
  "bom.csv": "Parts list as figures",
  "motion.html": "The moving page",
  "report.html": "The report",
  "drawings/drawings.pdf": "All drawings",
  "rack/sheet.html": "The rack kit, for class",
  "results.json": "All results as figures",
};
const GROUPS = [ // a file stands in the first group that takes it
  ["To read", /^(guide\.pdf|[^/]+\.html|rack\/sheet\.html|drawings\/drawings\.pdf|.*READ_ME\.txt)$/],
  ["A trial piece, to print first", /^parts\/trial_sector\//],
  ["To print, fitted to your printer", /^parts\/print\//],
  ["Parts as drawn, without the printer's allowances", /^parts\/nominal\//],
  ["The rack kit", /^rack\//],
  ["Drawings", /^drawings\//],
  ["The whole drive in space", /^assembly\//],
  ["Pictures", /\.(png|svg|gif)$/],
  ["Figures", /./],
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
      const stale = new Stale(store, "This was made from an earlier state of the design: do not print from it. Write it anew first.");
      this.lists[kind] = { list, stale };
      const line = new JobLine(store, kind, { ...words, done: () => this.refresh() });
      root.append(line.root, stale.root, list);
    }
    const all = element("a", { href: "/download", download: "project.zip", textContent: "Take everything as one archive" });
    this.away = element("p", {}, all, element("span", { className: "words", textContent: " All designs of the folder and what was written from them, as a ZIP file." }));
    root.append(this.away);
  }

  async refresh() {
    const mine = this.asked = (this.asked ?? 0) + 1;
    const found = await ask("/api/results");
    if (mine !== this.asked) return;
    for (const [command, { list, stale }] of Object.entries(this.lists)) {
      const written = found.find((one) => one.command === command && one.design === this.store.state?.open?.file && one.files.length);
      stale.of(written ?? null);
      list.replaceChildren(...(written ? listed(written, GROUPS, NAMES) : []));
    }
  }
}

// A folder that was written, as lists of links: each file under the first group that takes it.
import { element, worded } from "./dom.js";

/** `groups`: rows of words and a pattern, the first one stands open; `names`: words of files that have words of their own, in the
 * order in which they stand. */
export function listed({ folder, files }, groups, names) {
  const parts = [element("p", { className: "strong", textContent: `Written to ${folder}` })];
  const left = new Set(files);
  groups.forEach(([words, pattern], at) => {
    const mine = [...left].filter((file) => pattern.test(file));
    for (const file of mine) left.delete(file);
    if (mine.length) parts.push(fold(words, at === 0, folder, mine, names));
  });
  return parts;
}

function fold(words, open, folder, files, names) {
  const rows = [...grouped(files)].map(([name, forms]) => [names[forms[0]] ?? name, forms]);
  const known = Object.values(names);
  rows.sort(([one], [other]) => (known.indexOf(one) >>> 0) - (known.indexOf(other) >>> 0) || one.localeCompare(other));
  return element("details", { className: "group", open }, element("summary", { textContent: `${words} (${rows.length})` }),
    element("ul", { className: "files" }, ...rows.map(([name, forms]) => item(folder, name, forms))));
}

/** `rack/laser/rail.dxf` → Rail (rack, laser): files of one thing in several formats stand together. */
function thing(file) {
  const folders = file.split("/");
  const stem = folders.pop().replace(/\.[^.]*$/, "");
  const where = folders.slice(1).filter((one) => !["print", "nominal"].includes(one));
  if (stem === "READ_ME") return `What lies in ${folders.join(", ") || "this folder"}`;
  return worded(stem.replace(/_print$/, "")) + (where.length ? ` (${where.join(", ")})` : "");
}

function grouped(files) {
  const found = new Map();
  for (const file of files) found.set(thing(file), [...(found.get(thing(file)) ?? []), file]);
  return found;
}

/** Opens in a page of its own, where it is kept apart from this one. */
function item(folder, name, forms) {
  const links = forms.map((file) => {
    const href = `/results/${[folder, ...file.split("/")].map(encodeURIComponent).join("/")}`;
    const form = file.slice(file.lastIndexOf(".") + 1);
    const link = element("a", { href, target: "_blank", rel: "noopener", textContent: forms.length > 1 ? form : name });
    if (forms.length > 1) link.setAttribute("aria-label", `${name}, ${form}`);
    return link;
  });
  return element("li", {}, ...(forms.length > 1 ? [`${name}: `] : []), ...links.flatMap((link, at) => (at ? [", ", link] : [link])));
}

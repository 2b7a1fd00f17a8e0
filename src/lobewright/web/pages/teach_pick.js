// Pieces of the choices for a lesson: something to tick, and a set of such under its words.
import { element } from "./dom.js";

export function pick(type, name, value, words, checked) {
  const field = element("input", { type, name, value, checked, id: `${name}-${value}` });
  const shown = element("span", { textContent: words });
  return { field, words: shown, label: element("label", { className: "pick", htmlFor: field.id }, field, shown) };
}

export function set(words, rows, className = "") {
  return element("fieldset", { className }, element("legend", { textContent: words }), ...rows.map(({ label }) => label));
}

// Small helps for making elements. Text always goes in as text.

export function element(tag, properties = {}, ...children) {
  const made = document.createElement(tag);
  Object.assign(made, properties);
  made.append(...children);
  return made;
}

/** A number as it is typed: no more digits than it has, at most six places. */
export function shownNumber(value) {
  return String(Number(value.toFixed(6)));
}

/** A number as it is read. */
export function figure(value) {
  if (value === null || value === undefined) return "–";
  const size = Math.abs(value);
  return (size >= 1000 ? value.toFixed(0) : size > 0 && size < 0.001 ? value.toPrecision(2) : shownNumber(Number(value.toFixed(3)))).replace("-", "−");
}

/** Sets text only where it differs, so that nothing is read out twice. */
export function setText(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

/** `flexible_ring` → Flexible ring. */
export function worded(name) {
  const words = String(name).replaceAll("_", " ");
  return words.charAt(0).toUpperCase() + words.slice(1);
}

/** Where a fault is, in words: `rigid_ring[1].teeth` → Rigid ring 1, teeth. */
export function placeWords(place) {
  return worded(place.replace(/\[(\d+)\]/g, " $1").replaceAll(".", ", "));
}

/** A fault's sentence without file and place, for where it is shown beside what it is about. */
export function sentence({ what, allowed }) {
  const words = allowed ? `${what}; allowed: ${allowed}.` : `${what}.`;
  return words.charAt(0).toUpperCase() + words.slice(1);
}

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

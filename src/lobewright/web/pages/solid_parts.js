// What parts are called where they are chosen or pointed at: the number of the parts list, a plain word, the designation.

const JOINING = / (?:of|in|on|under|as|that|through|behind|before|between|and) .*/;

const told = (number, words, designation, count) =>
  `${number}  ${words}${designation ? `, ${designation}` : ""}${count > 1 ? ` (${count} of them)` : ""}`;

export function partWords({ number, words, designation, places }) {
  return told(number, words, designation, places.length);
}

/** One row a number of the parts list: { text, indices of its parts }. What serves several ends has only their common word. */
export function partRows(parts) {
  const rows = new Map(); // number → its parts' indices
  for (const [index, { number }] of parts.entries()) rows.set(number, [...(rows.get(number) ?? []), index]);
  return [...rows].sort(([one], [other]) => one - other).map(([number, indices]) => {
    const mine = indices.map((index) => parts[index]);
    const words = new Set(mine.map((part) => part.words));
    const plain = [...words].map((text) => text.replace(JOINING, "")).sort((one, other) => one.length - other.length);
    const count = mine.reduce((sum, { places }) => sum + places.length, 0);
    return { indices, text: told(number, words.size > 1 ? plain[0] : mine[0].words, mine[0].designation, count) };
  });
}

// How the drive may be cut. A plane is [x, y, z of its normal, distance]; what lies beyond all planes is taken away.

export const AXIS = [0, 0, 1];
export const CUTS = [
  { kind: "quarter", words: "a quarter taken out", label: "From this angle on", first: 90 },
  { kind: "half", words: "halved along its axis", label: "At this angle", first: 180 },
  { kind: "across", words: "cut across its axis", label: "This far along it" },
  { kind: "none", words: "not cut", label: "" },
];
const BESIDE_MM = 0.013; // beside round heights, where faces lie that would flicker in the cut

const named = (kind) => CUTS.find((one) => one.kind === kind);

/** What the control for the place of a cut offers: in degrees, or in mm along the drive, at first where the teeth mesh. */
export function cutRange(kind, along, meshAt) {
  const { label, first } = named(kind);
  if (kind !== "across") return { label, min: 0, max: 360, step: 1, value: first ?? 0 };
  const [rear, front] = [along.middle - along.half, along.middle + along.half];
  return { label, min: Math.floor(rear), max: Math.ceil(front), step: 0.5, value: meshAt };
}

export function planes(kind, at) {
  const beyond = (degrees) => [Math.cos((degrees * Math.PI) / 180), Math.sin((degrees * Math.PI) / 180), 0, 0];
  if (kind === "quarter") return [beyond(at + 90), beyond(at)];
  if (kind === "half") return [beyond(at)];
  return kind === "across" ? [[...AXIS, at + BESIDE_MM]] : [];
}

export function cutWords(kind, at) {
  const { words } = named(kind);
  if (kind === "none") return words;
  return kind === "across" ? `${words}, ${at} mm in front of the held ring's back` : `${words}, at ${at}°`;
}

// How much room pieces take, by points round them that they never leave.

const AROUND = 24; // points of the circle in which a piece turns
const ENDS = [0, 1, 2, 3, 4, 5, 6, 7].map((k) => [k & 1, (k >> 1) & 1, k >> 2]);

/** A point of a part where the part stands. */
function placed([x, y, z], [dx, dy, dz, turn, over]) {
  const [c, s, way] = [Math.cos(turn), Math.sin(turn), over ? -1 : 1];
  return [c * x - s * way * y + dx, s * x + c * way * y + dy, way * z + dz];
}

/** Points round every piece of a stiff part, mm: corners of its box where it stands still, of the ring in which it turns else. */
export function round(part, { stiff, triangles }) {
  const at = new Float32Array(stiff.buffer, stiff.byteOffset, stiff.length);
  const [low, high] = [[Infinity, Infinity, Infinity], [-Infinity, -Infinity, -Infinity]];
  for (let k = part.first; k < part.first + part.count; k += 1) {
    for (let i = 0; i < 3; i += 1) {
      low[i] = Math.min(low[i], at[4 * triangles[k] + i]);
      high[i] = Math.max(high[i], at[4 * triangles[k] + i]);
    }
  }
  return part.places.flatMap((place) => {
    const corners = ENDS.map((ends) => placed(ends.map((end, i) => (end ? high : low)[i]), place));
    return part.member === "held" ? corners : turned(corners, farthest(part, at, triangles, place));
  });
}

/** How far a piece reaches from the axis, mm. */
function farthest({ first, count }, at, triangles, place) {
  let most = 0;
  for (let k = first; k < first + count; k += 1) {
    const [x, y] = placed([0, 1, 2].map((i) => at[4 * triangles[k] + i]), place);
    most = Math.max(most, Math.hypot(x, y));
  }
  return most;
}

function turned(corners, radius) {
  const { middle, half } = extent(corners, [0, 0, 1]);
  const outside = radius / Math.cos(Math.PI / AROUND);
  return Array.from({ length: AROUND }, (_, k) => (2 * Math.PI * k) / AROUND)
    .flatMap((angle) => [middle - half, middle + half].map((z) => [outside * Math.cos(angle), outside * Math.sin(angle), z]));
}

/** Middle and half of what points span along a direction, mm. */
export function extent(points, along) {
  let [low, high] = [Infinity, -Infinity];
  for (const [x, y, z] of points) {
    const far = along[0] * x + along[1] * y + along[2] * z;
    if (far < low) low = far;
    if (far > high) high = far;
  }
  return { middle: (low + high) / 2, half: (high - low) / 2 };
}

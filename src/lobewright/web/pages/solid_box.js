// How much room pieces take, by the corners of the boxes round them.

const ENDS = [0, 1, 2, 3, 4, 5, 6, 7].map((k) => [k & 1, (k >> 1) & 1, k >> 2]);

/** A point of a part where the part stands. */
function placed([x, y, z], [dx, dy, dz, turn, over]) {
  const [c, s, way] = [Math.cos(turn), Math.sin(turn), over ? -1 : 1];
  return [c * x - s * way * y + dx, s * x + c * way * y + dy, way * z + dz];
}

/** Corners of the boxes round every piece of stiff parts, mm. */
export function boxes(parts, { stiff, triangles }) {
  const at = new Float32Array(stiff.buffer, stiff.byteOffset, stiff.length);
  return parts.flatMap((part) => {
    const [low, high] = [[Infinity, Infinity, Infinity], [-Infinity, -Infinity, -Infinity]];
    for (let k = part.first; k < part.first + part.count; k += 1) {
      for (let i = 0; i < 3; i += 1) {
        low[i] = Math.min(low[i], at[4 * triangles[k] + i]);
        high[i] = Math.max(high[i], at[4 * triangles[k] + i]);
      }
    }
    return part.places.flatMap((place) => ENDS.map((ends) => placed(ends.map((end, i) => (end ? high : low)[i]), place)));
  });
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

/** Between a photograph and its disc: pixels, and the dial of the disc's plane. */

const DEGREES = 180 / Math.PI;

/** Return the map of a 3 × 3 matrix, row by row, for places [x, y]. */
export function mapOf(matrix) {
  const [a, b, c, d, e, f, g, h, i] = matrix;
  return ([x, y]) => {
    const w = g * x + h * y + i;
    return [(a * x + b * y + c) / w, (d * x + e * y + f) / w];
  };
}

/** Return the matrix of the map back. */
export function inverse([a, b, c, d, e, f, g, h, i]) {
  const first = [e * i - f * h, c * h - b * i, b * f - c * e];
  const whole = a * first[0] + d * first[1] + g * first[2];
  return [
    ...first,
    f * g - d * i, a * i - c * g, c * d - a * f,
    d * h - e * g, b * g - a * h, a * e - b * d,
  ].map((each) => each / whole);
}

/** Return an angle as the dial has it, 0 up to 360. */
export const dial = (degrees) => ((degrees % 360) + 360) % 360;

/** Return the dial angle of a pixel, seen from the disc's centre in its own plane. */
export function dialOf(plane, place) {
  const [x, y] = mapOf(inverse(plane))(place);
  return dial(90 - Math.atan2(y, x) * DEGREES);
}

/** Return the pixel at a dial angle and a radius, the rim's being 1. */
export function placeAt(plane, angle, radius) {
  const direction = (90 - angle) / DEGREES;
  return mapOf(plane)([radius * Math.cos(direction), radius * Math.sin(direction)]);
}

/** Return how far a pixel lies from the centre in the disc's plane, the rim's radius being 1. */
export function radiusOf(plane, place) {
  return Math.hypot(...mapOf(inverse(plane))(place));
}

/** Return the difference of two dial angles, -180 up to 180. */
export const between = (one, other) => dial(one - other + 180) - 180;

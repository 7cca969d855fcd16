/**
 * Plane geometry of a disc as it is drawn: pure, nothing of pages or files.
 *
 * Angles are degrees clockwise from 12 o'clock, as on a dial and as in the files. Points are
 * [x, y] in mm with y downwards, as SVG has them; the disc's centre is the origin.
 */

export const TURN = 360;

/** @typedef {[number, number]} Point */

/** Return an angle in radians. @param {number} degrees */
export function radians(degrees) {
  return (degrees * Math.PI) / 180;
}

/** Return the point at a dial angle and a radius. @returns {Point} */
export function pointAt(angle, radius) {
  return [radius * Math.sin(radians(angle)), -radius * Math.cos(radians(angle))];
}

/** Return the dial angle of a point, 0 <= angle < 360. */
export function dialAngle(x, y) {
  return onDial((Math.atan2(x, -y) * 180) / Math.PI);
}

/** Return an angle as the dial shows it, 0 <= angle < 360. */
export function onDial(angle) {
  const rest = angle % TURN;
  const found = rest < 0 ? rest + TURN : rest;
  return found === TURN || found === 0 ? 0 : found;
}

/** Return the turn from one angle to another by the shorter way, -180 < turn <= 180. */
export function turnBetween(from, to) {
  const turn = onDial(to - from);
  return turn > TURN / 2 ? turn - TURN : turn;
}

/** Return a number with at most ``decimals``, without an end of zeros. */
export function rounded(value, decimals = 4) {
  const scale = 10 ** decimals;
  const found = Math.round(value * scale) / scale;
  return found === 0 ? 0 : found;
}

/**
 * Return an angle near ``raw`` to which a drag snaps.
 *
 * A separation of another layer within ``reach`` goes before a step of the dial: a whole degree
 * where a step of the pointer is wide, otherwise a half.
 *
 * @param {number} raw
 * @param {{others?: number[], reach?: number, pointerStep?: number}} options degrees
 */
export function snappedAngle(raw, { others = [], reach = 0.75, pointerStep = 0 } = {}) {
  let best = null;
  for (const other of others) {
    const turn = turnBetween(raw, other);
    if (Math.abs(turn) <= reach && (best === null || Math.abs(turn) < Math.abs(best))) best = turn;
  }
  if (best !== null) return rounded(raw + best);
  const step = pointerStep > 0.3 ? 1 : 0.5;
  return rounded(Math.round(raw / step) * step);
}

/** Return a value rounded to a step. */
export function stepped(value, step) {
  return rounded(Math.round(value / step) * step);
}

/** Return a value that is no less than ``low`` and no more than ``high``. */
export function within(value, low, high) {
  return Math.min(Math.max(value, low), high);
}

function written([x, y]) {
  return `${rounded(x)} ${rounded(y)}`;
}

/** Return a whole circle about a point as path data. */
export function circlePath(radius, [x, y] = [0, 0]) {
  const [left, right] = [written([x - radius, y]), written([x + radius, y])];
  const r = rounded(radius);
  return `M${left}A${r} ${r} 0 1 1 ${right}A${r} ${r} 0 1 1 ${left}Z`;
}

/** Return a ring as path data, for the even-odd rule; a disc where the inner radius is 0. */
export function ringPath(inner, outer) {
  return circlePath(outer) + (inner > 0 ? circlePath(inner) : "");
}

/**
 * Return the outline of a sector as path data, "" where its gaps leave nothing of it.
 *
 * It reaches clockwise from ``from`` over ``degrees``. Its sides are shifted parallel to
 * themselves by ``shifts`` mm into the piece, the first side first; negative: out of it.
 *
 * @param {[number, number]} shifts
 */
export function sectorPath(inner, outer, from, degrees, shifts = [0, 0]) {
  if (degrees >= TURN - 1e-9) return ringPath(inner, outer);
  const corners = sectorCorners(inner, outer, from, degrees, shifts);
  if (!corners) return "";
  const { start, end, innerStart, innerEnd, tip } = corners;
  const large = end - start > TURN / 2 ? 1 : 0;
  const r = rounded(outer);
  const rim = `${written(pointAt(start, outer))}A${r} ${r} 0 ${large} 1 ${written(pointAt(end, outer))}`;
  if (tip) return `M${written(tip)}L${rim}Z`;
  const largeInside = innerEnd - innerStart > TURN / 2 ? 1 : 0;
  const q = rounded(inner);
  return (
    `M${rim}L${written(pointAt(innerEnd, inner))}` +
    `A${q} ${q} 0 ${largeInside} 0 ${written(pointAt(innerStart, inner))}Z`
  );
}

/**
 * Return at which angles a sector's sides meet the two circles, or the tip in which they meet
 * each other before the inner one; null where nothing is left.
 */
export function sectorCorners(inner, outer, from, degrees, [first, second]) {
  const to = from + degrees;
  const drawn = (shift, radius) => (Math.asin(within(shift / radius, -1, 1)) * 180) / Math.PI;
  if (Math.abs(first) >= outer || Math.abs(second) >= outer) return null;
  const start = from + drawn(first, outer);
  const end = to - drawn(second, outer);
  if (end <= start || end - start >= TURN) return null;
  if (Math.max(Math.abs(first), Math.abs(second)) < inner) {
    const innerStart = from + drawn(first, inner);
    const innerEnd = to - drawn(second, inner);
    if (innerEnd > innerStart) return { start, end, innerStart, innerEnd, tip: null };
  }
  return { start, end, innerStart: start, innerEnd: end, tip: meeting(from, to, first, second) };
}

/** Return where two shifted sides meet; the middle where they are parallel. @returns {Point} */
function meeting(from, to, first, second) {
  // A side at angle a, shifted clockwise by s, is all points p with p . (cos a, sin a) = s.
  const [a, b] = [radians(from), radians(to)];
  const across = Math.sin(b - a);
  if (Math.abs(across) < 1e-9) return [0, 0];
  const shift = -second;
  return [
    (first * Math.sin(b) - shift * Math.sin(a)) / across,
    (shift * Math.cos(a) - first * Math.cos(b)) / across,
  ];
}

/** Return the relative luminance of a colour (WCAG 2.2). @param {string} colour "#rrggbb" */
export function luminance(colour) {
  const [r, g, b] = [1, 3, 5].map((at) => {
    const value = parseInt(colour.slice(at, at + 2), 16) / 255;
    return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

/**
 * A disc as the server describes it, and what an edit makes of it until the server answers: pure.
 *
 * Only edits that follow a pointer or a typed number are worked out here. A disc is never changed:
 * what an edit leaves as it is stays the same object, so that a view can see what to draw again.
 *
 * @typedef {{film: string, degrees: number, from: number, given: "degrees"|"share"|"ms",
 *   name?: string, colour?: string}} Sector
 * @typedef {{index: number, name: string, outer_diameter: number, inner_diameter: number|null,
 *   start_angle: number, joint_gap: number, film: string|null, colour?: string,
 *   sectors: Sector[], openings: object[]}} Layer
 * @typedef {{name: string, diameter: number, radius: number, angle: number,
 *   layers: string[]|null}} Hole
 * @typedef {{name: string, outer_diameter: number, bore: object|null, hub_diameter: number|null,
 *   speed_rpm: number|null, layers: Layer[], holes: Hole[], dots: object[],
 *   windows: object[]}} Disc
 * @typedef {{do: string, [field: string]: any}} Edit
 */
import { onDial, rounded, turnBetween } from "./geometry.js";

/** Return what a film is called where a reader sees it. @param {string|null} film */
export function filmWord(film) {
  if (film === "none") return "open";
  return !film || film.startsWith("?") ? "to be chosen" : film;
}

/** Return the radius where a layer begins, mm: its own or, if larger, the bore's core. */
export function innerRadius(disc, layer) {
  return Math.max(boreCore(disc.bore), (layer.inner_diameter ?? 0) / 2);
}

/** Return the radius of the largest circle within a bore, mm. */
export function boreCore(bore) {
  if (!bore) return 0;
  if (bore.square) return bore.square / 2;
  const half = bore.diameter / 2;
  return bore.flat ? Math.min(half, bore.flat - half) : half;
}

/**
 * Return where the separations of a layer lie, in dial degrees that go on past 360: the one after
 * sector k at place k - 1, and last the start, after the last sector.
 * @param {Layer} layer
 */
export function separations(layer) {
  if (layer.sectors.length < 2) return [];
  let angle = layer.start_angle;
  const found = layer.sectors.map((sector) => (angle += sector.degrees));
  found[found.length - 1] = layer.start_angle;
  return found;
}

/** Return the two sectors on either side of the separation after sector ``after``. */
export function pairAt(layer, after) {
  const { sectors } = layer;
  return [sectors[after - 1], sectors[after % sectors.length]];
}

/** Return a disc with edits that nobody has saved yet. @param {Disc} disc @param {Edit[]} edits */
export function withEdits(disc, edits) {
  return edits.reduce(withEdit, disc);
}

function withEdit(disc, edit) {
  if (edit.do === "move separation" && Number.isFinite(edit.angle)) {
    return withLayer(disc, edit.layer, (layer) => withSeparation(layer, edit.after, edit.angle));
  }
  if (edit.do === "set" && Number.isFinite(edit.value)) return withValue(disc, edit.at, edit.value);
  return disc;
}

function withLayer(disc, index, made) {
  const layers = disc.layers.map((layer) => (layer.index === index ? made(layer) : layer));
  return { ...disc, layers };
}

/** Return a layer with one separation at another angle; the two sectors there become degrees. */
export function withSeparation(layer, after, angle) {
  const turn = turnBetween(separations(layer)[after - 1], angle);
  const last = layer.sectors.length;
  const next = (after % last) + 1;
  const start = after === last ? onDial(layer.start_angle + turn) : layer.start_angle;
  let from = start;
  const sectors = layer.sectors.map((sector, at) => {
    const grown = at + 1 === after ? turn : at + 1 === next ? -turn : 0;
    const here = onDial(from);
    const degrees = grown ? rounded(sector.degrees + grown, 9) : sector.degrees;
    from += degrees;
    if (!grown && Math.abs(turnBetween(sector.from, here)) < 1e-9) return sector;
    return { ...sector, degrees, from: here, given: grown ? "degrees" : sector.given };
  });
  return { ...layer, start_angle: start, sectors };
}

function withValue(disc, at, value) {
  const inRow = /^(layer|hole)\[(\d+)\]\.(\w+)$/.exec(at);
  if (!inRow) return withDiscValue(disc, at, value);
  const [, noun, number, field] = inRow;
  if (noun === "hole") {
    const changed = (hole, place) => (place + 1 === +number ? { ...hole, [field]: value } : hole);
    return { ...disc, holes: disc.holes.map(changed) };
  }
  return withLayer(disc, +number, (layer) =>
    field === "start_angle" ? turned(layer, value) : { ...layer, [field]: value },
  );
}

function withDiscValue(disc, at, value) {
  if (at === "bore.diameter") return { ...disc, bore: { ...disc.bore, diameter: value } };
  if (at !== "outer_diameter") return { ...disc, [at]: value };
  // A layer as wide as the disc follows it.
  const layers = disc.layers.map((layer) =>
    layer.outer_diameter === disc.outer_diameter ? { ...layer, outer_diameter: value } : layer,
  );
  return { ...disc, outer_diameter: value, layers };
}

function turned(layer, start) {
  const turn = start - layer.start_angle;
  const sectors = layer.sectors.map((each) => ({ ...each, from: onDial(each.from + turn) }));
  return { ...layer, start_angle: onDial(start), sectors };
}

/**
 * Return which sectors given by share or time become degrees by an edit, in words; "" if none.
 * @param {Disc} disc as it is in the file @param {Edit[]} edits
 */
export function becomesDegrees(disc, edits) {
  const found = [];
  for (const edit of edits) {
    if (edit.do !== "move separation") continue;
    const before = disc.layers.find((layer) => layer.index === edit.layer);
    const after = withEdits(disc, edits).layers.find((layer) => layer.index === edit.layer);
    before?.sectors.forEach((sector, at) => {
      const now = after.sectors[at];
      if (sector.given !== "degrees" && now.given === "degrees") {
        const was = sector.given === "ms" ? "a time" : "a share";
        found.push(`${filmWord(sector.film)} was ${was} and becomes ${rounded(now.degrees)} degrees`);
      }
    });
  }
  return [...new Set(found)].join("; ");
}

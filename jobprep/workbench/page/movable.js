/**
 * All that can be moved on a disc, each with its bounds, its words and the edit that it makes.
 *
 * Pointer, keyboard, typed value and step buttons all go through this one list.
 *
 * @typedef {object} Movable
 * @property {string} id           the same for as long as its thing is there
 * @property {"separation"|"hole"|"size"} kind
 * @property {string} at           the field that a finding of it would name
 * @property {string} label        what it is, in words
 * @property {"angle"|"length"} moves   along the circle or along a radius
 * @property {number} value        degrees that may go on past 360, or mm
 * @property {number} min
 * @property {number} max
 * @property {number} angle        where its thumb lies: dial degrees
 * @property {number} radius       and mm
 * @property {number} perRadius    its value for each mm of radius: 2 for a diameter, 1 for a radius
 * @property {(value: number) => string} spoken
 * @property {(value: any) => object[]} edits
 */
import { boreCore, filmWord, innerRadius, pairAt, separations } from "./disc.js";
import { onDial, rounded, turnBetween, within } from "./geometry.js";

/** Narrowest sector that a drag leaves, degrees; a typed value may go lower. */
export const NARROWEST = 0.5;
/** Steps of arrow keys and buttons: with snapping, without, and of the page keys. */
export const STEPS = { angle: [0.5, 0.1, 5], length: [0.5, 0.1, 5] };

/** Dial angles of the thumbs of sizes, apart from one another so that each can be taken. */
const DIRECTIONS = { inner: 135, hub: 315, bore: 225 };
/** Where the thumb of a rim may lie: the first place this far from separations and holes, degrees. */
const RIM_DIRECTIONS = [135, 225, 45, 315, ...Array.from({ length: 120 }, (_, at) => 3 * at)];
const CLEAR = 9;

/** Return the movable things of a disc while a layer is chosen. @returns {Movable[]} */
export function movables(disc, layerIndex) {
  const layer = disc.layers.find((each) => each.index === layerIndex);
  return [
    ...(layer ? separationsOf(layer) : []),
    ...disc.holes.flatMap((hole, place) => holeMovables(disc, hole, place + 1)),
    ...(layer ? layerSizes(disc, layer) : []),
    ...discSizes(disc),
  ];
}

function separationsOf(layer) {
  const { sectors, index, outer_diameter } = layer;
  return separations(layer).map((value, place) => {
    const after = place + 1;
    const [before, next] = pairAt(layer, after);
    const between = `separation between ${filmWord(before.film)} and ${filmWord(next.film)}`;
    return {
      id: `separation-${index}-${after}`,
      kind: "separation",
      at: `layer[${index}].sector[${after}].degrees`,
      label: `Separation ${after} of ${layer.name}`,
      moves: "angle",
      value,
      min: value - before.degrees + NARROWEST,
      max: value + next.degrees - NARROWEST,
      angle: value,
      radius: outer_diameter / 2,
      perRadius: 1,
      layer: index,
      after,
      count: sectors.length,
      spoken: (angle) => `${between}, ${rounded(onDial(angle))} degrees`,
      edits: (angle) => [
        { do: "move separation", layer: index, after, angle: dialled(angle) },
      ],
    };
  });
}

/** Return a dial angle of a number; text that is none goes to the server as it is. */
function dialled(angle) {
  return Number.isFinite(angle) ? rounded(onDial(angle)) : angle;
}

function holeMovables(disc, hole, number) {
  const at = `hole[${number}]`;
  const common = { kind: "hole", hole: number };
  const half = hole.diameter / 2;
  return [
    {
      ...common,
      id: `hole-${number}-angle`,
      at: `${at}.angle`,
      label: `Angle of hole ${hole.name}`,
      moves: "angle",
      value: hole.angle,
      min: 0,
      max: 360,
      wraps: true,
      angle: hole.angle,
      radius: hole.radius,
      perRadius: 1,
      spoken: (angle) => `hole ${hole.name}, ${rounded(onDial(angle))} degrees`,
      edits: (angle) => [{ do: "set", at: `${at}.angle`, value: dialled(angle) }],
    },
    {
      ...common,
      id: `hole-${number}-radius`,
      at: `${at}.radius`,
      label: `Radius of hole ${hole.name}`,
      moves: "length",
      value: hole.radius,
      min: rounded(half),
      max: rounded(disc.outer_diameter / 2),
      angle: hole.angle,
      // Its thumb lies on the hole's edge towards the centre, where the rim leaves room.
      radius: Math.max(0, hole.radius - half),
      thumbOff: half,
      perRadius: 1,
      spoken: (radius) => `hole ${hole.name}, ${rounded(radius)} mm from the centre`,
      edits: (radius) => [{ do: "set", at: `${at}.radius`, value: radius }],
    },
  ];
}

function size(id, at, label, value, [min, max], direction) {
  return {
    id,
    kind: "size",
    at,
    label,
    moves: "length",
    value,
    min: rounded(min),
    max: rounded(max),
    angle: direction,
    radius: value / 2,
    perRadius: 2,
    spoken: (diameter) => `${label[0].toLowerCase()}${label.slice(1)}, ${rounded(diameter)} mm`,
    edits: (diameter) => [{ do: "set", at, value: diameter }],
  };
}

function layerSizes(disc, layer) {
  const inner = 2 * innerRadius(disc, layer);
  const at = `layer[${layer.index}]`;
  const outer = layer.outer_diameter;
  return [
    size(`outer-${layer.index}`, `${at}.outer_diameter`, `Outer diameter of ${layer.name}`,
      outer, [inner + 0.5, disc.outer_diameter], clearDirection(disc, layer)),
    size(`inner-${layer.index}`, `${at}.inner_diameter`, `Inner diameter of ${layer.name}`,
      inner, [2 * boreCore(disc.bore), outer - 0.5], DIRECTIONS.inner),
  ];
}

/** Return the dial angle for the thumb of a layer's rim: one clear of all others, or the clearest. */
function clearDirection(disc, layer) {
  const taken = [...separations(layer), ...disc.holes.map((hole) => hole.angle)];
  const room = (angle) => Math.min(360, ...taken.map((each) => Math.abs(turnBetween(each, angle))));
  const found = RIM_DIRECTIONS.find((angle) => room(angle) >= CLEAR);
  return found ?? RIM_DIRECTIONS.reduce((best, angle) => (room(angle) > room(best) ? angle : best));
}

function discSizes(disc) {
  const found = [];
  const bore = 2 * boreCore(disc.bore);
  if (disc.hub_diameter !== null && disc.hub_diameter !== undefined) {
    found.push(size("hub", "hub_diameter", "Hub diameter", disc.hub_diameter,
      [bore, disc.outer_diameter], DIRECTIONS.hub));
  }
  if (disc.bore?.diameter) {
    const most = disc.hub_diameter ?? disc.outer_diameter - 0.5;
    found.push(size("bore", "bore.diameter", "Bore diameter", disc.bore.diameter,
      [0.5, most], DIRECTIONS.bore));
  }
  return found;
}

/** Return a movable's value moved to another, kept within its bounds. */
export function moved(movable, value) {
  if (movable.wraps) return onDial(value);
  return rounded(within(value, movable.min, movable.max));
}

/** Return the value that a key gives, null where the key means nothing here. */
export function keyed(movable, key, isFree) {
  const [step, fine, page] = STEPS[movable.moves];
  const small = isFree ? fine : step;
  const turn = {
    ArrowRight: small, ArrowUp: small, ArrowLeft: -small, ArrowDown: -small,
    PageUp: page, PageDown: -page,
  }[key];
  if (turn !== undefined) return moved(movable, movable.value + turn);
  if (key === "Home") return movable.min;
  if (key === "End") return movable.wraps ? 359.5 : movable.max;
  return null;
}

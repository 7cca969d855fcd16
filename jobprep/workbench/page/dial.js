/**
 * The picture of the disc from its front: film levels one by one, one upon another or pulled
 * apart, the dial around it, and where it is heavy. It holds no truth: all comes from the state.
 *
 * Films are laid over one another by multiplying their colours, as light does on its way through.
 * What is cut out is white in its own level, and so lets the levels behind it show.
 */
import { filmWord, innerRadius } from "./disc.js";
import { set, svg } from "./elements.js";
import { circlePath, dialAngle, luminance, onDial, pointAt, ringPath, rounded, sectorPath } from "./geometry.js";
import { shownDisc, shownLayer } from "./state.js";

/** Of a radius of 100: room for the dial and for the names of levels, how flat a level looks that is
 * pulled apart, its step. */
const DIAL = 130;
const NAMES = 96;
const FLAT = 0.34;
const SPACING = 46;
const TALLEST = 300;
/** More sectors than these go without words. */
const MOST_LABELS = 22;

/** Return where a level lies in the picture. @param {"one"|"stacked"|"apart"} look */
export function levelPlace(disc, index, look) {
  if (look !== "apart") return { flat: 1, down: 0 };
  const unit = disc.outer_diameter / 200;
  const step = Math.max(26, Math.min(SPACING, TALLEST / disc.layers.length));
  return { flat: FLAT, down: step * unit * (index - 1) };
}

/** Return the frame of the picture as a viewBox. */
export function frame(disc, look) {
  const unit = disc.outer_diameter / 200;
  const side = DIAL * unit;
  if (look !== "apart") return [-side, -side, 2 * side, 2 * side];
  const top = (FLAT * 100 + 14) * unit;
  const down = levelPlace(disc, disc.layers.length, look).down;
  return [-104 * unit, -top, (208 + NAMES) * unit, 2 * top + down];
}

/** Return the number of the sector at a place of a layer, 0 in a ring, null outside of it. */
export function sectorAt(disc, layer, x, y) {
  const radius = Math.hypot(x, y);
  if (radius < innerRadius(disc, layer) || radius > layer.outer_diameter / 2) return null;
  if (layer.sectors.length < 2) return 0;
  const angle = dialAngle(x, y);
  const found = layer.sectors.findIndex((each) => onDial(angle - each.from) < each.degrees);
  return found < 0 ? null : found + 1;
}

/** Return the outline of each sector of a layer, of a ring its one outline. */
export function layerPaths(disc, layer) {
  const [inner, outer] = [innerRadius(disc, layer), layer.outer_diameter / 2];
  const { sectors } = layer;
  if (sectors.length < 2) return [outer > inner ? ringPath(inner, outer) : ""];
  const half = layer.joint_gap / 2;
  const shift = (neighbour) => (neighbour.film === "none" ? 0 : half);
  return sectors.map((sector, at) => {
    if (outer <= inner) return "";
    const before = sectors[(at + sectors.length - 1) % sectors.length];
    const after = sectors[(at + 1) % sectors.length];
    const shifts = sector.film === "none" ? [0, 0] : [shift(before), shift(after)];
    return sectorPath(inner, outer, sector.from, sector.degrees, shifts);
  });
}

/** Return a view that draws the disc into an SVG element. */
export function createDial(picture) {
  const films = svg("g", { class: "films" });
  const level = svg("path", { class: "chosen-part" });
  const chosen = svg("g", {}, level);
  const lines = svg("path", { class: "zone" });
  const ticks = svg("g", { class: "ticks-of-dial" });
  const heavy = svg("path", { class: "heavy" });
  const words = svg("g", { class: "words" });
  picture.replaceChildren(films, lines, chosen, ticks, heavy, words);
  let built = "";
  let levels = [];
  let labels = [];
  const drawn = {};

  /** Call ``work`` when what it depends on is not the same as last time. */
  function fresh(name, given, work) {
    if (drawn[name]?.every((each, at) => each === given[at])) return;
    drawn[name] = given;
    work();
  }

  function build(disc, look) {
    films.replaceChildren();
    levels = disc.layers.map((layer) => {
      const parts = Array.from({ length: Math.max(1, layer.sectors.length) }, () => svg("path"));
      const cuts = svg("g", { class: "cuts" });
      return { parts, cuts, group: svg("g", { class: "level" }, ...parts, cuts) };
    });
    for (const { group } of [...levels].reverse()) films.append(group);
    labels = disc.layers.map((layer) =>
      layer.sectors.length > MOST_LABELS || look === "apart" ? [] : layer.sectors.map(() => label()),
    );
    words.replaceChildren();
    for (const name of Object.keys(drawn)) delete drawn[name];
  }

  return (state) => {
    const disc = shownDisc(state);
    set(picture, "hidden", disc ? null : "");
    if (!disc) return;
    const { look, layer: index } = state;
    const key = [disc.layers.map((layer) => layer.sectors.length), look].join();
    if (built !== key) build(disc, look);
    built = key;
    fresh("frame", [disc.outer_diameter, look, disc.layers.length], () => {
      set(picture, "viewBox", frame(disc, look).map((each) => rounded(each)).join(" "));
      ticksOfDial(ticks, disc, look);
    });
    disc.layers.forEach((layer, at) => {
      const { bore, holes, dots } = disc;
      const hidden = look === "one" && layer.index !== index;
      const given = [layer, bore, holes, dots, hidden, state.films, disc.outer_diameter];
      fresh(`level-${at}`, given, () => drawLevel(levels[at], disc, layer, look, hidden));
    });
    const layer = shownLayer(state);
    fresh("zones", [disc.hub_diameter, disc.beam, look], () => set(lines, "d", zones(disc, look)));
    fresh("chosen", [layer, state.picked, disc.bore], () => drawChosen(chosen, level, disc, layer, state));
    fresh("words", [layer, disc.bore, disc.outer_diameter, look, disc.layers.length], () => {
      const own = layer ? labels[disc.layers.indexOf(layer)] : [];
      if (look === "apart") return levelNames(words, disc, index);
      if (words.firstChild !== (own[0] ?? null)) words.replaceChildren(...own);
      own.forEach((text, at) => drawLabel(text, disc, layer, layer.sectors[at]));
    });
    fresh("heavy", [state.facts, disc.outer_diameter, look], () =>
      set(heavy, "d", wedge(disc, state.facts?.balance, look)),
    );
  };
}

function drawLevel({ parts, cuts, group }, disc, layer, look, hidden) {
  const { flat, down } = levelPlace(disc, layer.index, look);
  set(group, "transform", look === "apart" ? `translate(0 ${rounded(down)}) scale(1 ${flat})` : null);
  set(group, "hidden", hidden);
  const paths = layerPaths(disc, layer);
  parts.forEach((part, at) => {
    const { film, colour, lab } = layer.sectors[at] ?? layer;
    const isChosen = !film?.startsWith("?");
    const kind = film === "none" ? "open" : isChosen ? "film" : "unchosen";
    // A film to be chosen whose colour nobody measured lets all others be seen as they are.
    const seen = isChosen || lab ? (colour ?? "#d9dde1") : "#ffffff";
    set(part, "d", paths[at]);
    set(part, "class", kind);
    set(part, "fill", film === "none" ? "none" : seen);
    set(part, "fill-rule", layer.sectors.length < 2 ? "evenodd" : null);
    set(part, "data-sector", layer.sectors.length < 2 ? 0 : at + 1);
    set(part, "data-layer", layer.index);
  });
  const found = cutOutlines(disc, layer);
  while (cuts.childElementCount > found.length) cuts.lastChild.remove();
  while (cuts.childElementCount < found.length) cuts.append(svg("path"));
  found.forEach(([kind, d, round, colour], at) => {
    const cut = cuts.children[at];
    set(cut, "d", d);
    set(cut, "class", kind);
    set(cut, "fill", colour ?? null);
    set(cut, "stroke-width", round ? rounded(2 * round) : null);
  });
}

/** Return what is cut out of a layer, and the patches on it: kind, path, corner radius, colour. */
function cutOutlines(disc, layer) {
  const found = [];
  for (const each of layer.openings ?? []) {
    const [inner, round] = [each.inner_diameter / 2, each.corner_radius ?? 0];
    const outer = (each.outer_diameter ?? layer.outer_diameter * 1.02) / 2;
    for (let copy = 0; copy < (each.count ?? 1); copy += 1) {
      const from = (each.angle ?? 0) + (360 * copy) / (each.count ?? 1);
      // Drawn smaller by its corner radius, with a round stroke twice as wide: true round corners.
      const d = sectorPath(inner + round, outer - round, from, each.degrees, [round, round]);
      found.push([round ? "opening round" : "opening", d, round]);
    }
  }
  for (const slots of disc.hub_slots ?? []) {
    if (slots.layers && !slots.layers.includes(layer.name)) continue;
    const middle = slots.circle_diameter / 2;
    // A slot's ends are round: a stroke as wide as the slot along its circle.
    const half = ((slots.length - slots.width) / 2 / middle) * (180 / Math.PI);
    for (let copy = 0; copy < slots.count; copy += 1) {
      const at = slots.angle + (360 * copy) / slots.count;
      const [from, to] = [at - half, at + half].map((each) => pointAt(each, middle).map((x) => rounded(x)).join(" "));
      const r = rounded(middle);
      found.push(["opening round slot", `M${from}A${r} ${r} 0 0 1 ${to}`, slots.width / 2]);
    }
  }
  for (const hole of disc.holes) {
    if (!hole.layers || hole.layers.includes(layer.name)) {
      found.push(["hole", circlePath(hole.diameter / 2, pointAt(hole.angle, hole.radius))]);
    }
  }
  if (disc.bore) found.push(["hole", boreOutline(disc.bore)]);
  for (const dot of disc.dots ?? []) {
    const at = dot.layer ?? disc.layers.at(-1).name;
    if (at !== layer.name) continue;
    const d = circlePath(dot.diameter / 2, pointAt(dot.angle, dot.radius));
    found.push(["dot", d, 0, dot.colour]);
  }
  return found;
}

/** Return the outline of a bore of any kind as path data. */
export function boreOutline(bore) {
  const turn = bore.angle ?? 0;
  const corners = (points) => `M${points.map((each) => each.map((x) => rounded(x)).join(" ")).join("L")}Z`;
  /** A point ``out`` mm towards the bore's own angle and ``aside`` mm clockwise of it. */
  const at = (out, aside) => {
    const [[x, y], [u, v]] = [pointAt(turn, 1), pointAt(turn + 90, 1)];
    return [out * x + aside * u, out * y + aside * v];
  };
  if (bore.square) {
    const half = bore.square / 2;
    return corners([at(half, -half), at(half, half), at(-half, half), at(-half, -half)]);
  }
  const radius = bore.diameter / 2;
  const r = rounded(radius);
  if (bore.flat) {
    const out = bore.flat - radius;
    const half = Math.sqrt(Math.max(0, radius * radius - out * out));
    const [from, to] = [at(out, half), at(out, -half)].map((each) => each.map((x) => rounded(x)).join(" "));
    return `M${from}A${r} ${r} 0 ${out > 0 ? 1 : 0} 1 ${to}Z`;
  }
  if (!bore.key_width) return circlePath(radius);
  const [half, reach] = [bore.key_width / 2, radius + bore.key_depth];
  const key = [at(0, -half), at(reach, -half), at(reach, half), at(0, half)];
  return circlePath(radius) + corners(key);
}

/** Return the dashed circles: the hub, and where light passes. */
function zones({ hub_diameter: hub, beam }, look) {
  if (look === "apart") return "";
  const light = beam ? [beam.radius - beam.width / 2, beam.radius + beam.width / 2] : [];
  return [(hub ?? 0) / 2, ...light].filter((r) => r > 0).map((r) => circlePath(r)).join("");
}

/** Write the name of each level beside it, where the levels are pulled apart. */
function levelNames(words, disc, index) {
  const unit = disc.outer_diameter / 200;
  words.replaceChildren(...disc.layers.map((layer) => {
    const y = levelPlace(disc, layer.index, "apart").down;
    const place = { x: rounded(106 * unit), y: rounded(y), dy: "0.35em", "font-size": rounded(9 * unit) };
    const isChosen = layer.index === index;
    return svg("text", { ...place, class: isChosen ? "named chosen" : "named", text: `${layer.index} ${layer.name}` });
  }));
}

/** Draw the outline of the chosen sector once more, above all levels. */
function drawChosen(group, path, disc, layer, { picked, look }) {
  const number = /^sector-(\d+)$/.exec(picked ?? "")?.[1];
  set(path, "d", layer && number ? (layerPaths(disc, layer)[number - 1] ?? "") : "");
  if (!layer) return;
  const { flat, down } = levelPlace(disc, layer.index, look);
  set(group, "transform", look === "apart" ? `translate(0 ${rounded(down)}) scale(1 ${flat})` : null);
}

function ticksOfDial(group, disc, look) {
  group.replaceChildren();
  if (look === "apart") return;
  const unit = disc.outer_diameter / 200;
  let d = "";
  for (let angle = 0; angle < 360; angle += 10) {
    const length = angle % 30 ? 3.5 : 6;
    const ends = [pointAt(angle, 104 * unit), pointAt(angle, (104 + length) * unit)];
    d += `M${ends.map((each) => each.map((x) => rounded(x)).join(" ")).join("L")}`;
  }
  group.append(svg("path", { d, class: "tick" }));
  for (let angle = 0; angle < 360; angle += 30) {
    const [x, y] = pointAt(angle, 119 * unit);
    const size = rounded(8.5 * unit);
    const place = { x: rounded(x), y: rounded(y), "font-size": size, dy: "0.35em" };
    group.append(svg("text", { ...place, "text-anchor": "middle", text: `${angle}` }));
  }
}

/** Return the wedge at the rim on the heavy side. */
function wedge(disc, balance, look) {
  if (!balance || balance.angle === null || balance.angle === undefined || look === "apart") return "";
  const unit = disc.outer_diameter / 200;
  const turn = 3;
  const points = [
    pointAt(balance.angle, 100.5 * unit),
    pointAt(balance.angle - turn, 112 * unit),
    pointAt(balance.angle + turn, 112 * unit),
  ];
  return `M${points.map((each) => each.map((x) => rounded(x)).join(" ")).join("L")}Z`;
}

function label() {
  return svg("text", { "text-anchor": "middle", "aria-hidden": "true" });
}

/** Put a sector's film and width into it, where there is room. */
function drawLabel(text, disc, layer, sector) {
  const unit = disc.outer_diameter / 200;
  const size = 8.5 * unit;
  const [inner, outer] = [innerRadius(disc, layer), layer.outer_diameter / 2];
  const radius = inner + 0.6 * (outer - inner);
  const name = filmWord(sector.film);
  const needed = 0.62 * size * Math.max(name.length, 6);
  const degrees = Math.min(sector.degrees, 180);
  const chord = 2 * radius * Math.sin((degrees * Math.PI) / 360);
  const isRoom = chord > needed && outer - inner > needed;
  set(text, "display", isRoom ? null : "none");
  if (!isRoom) return;
  const [x, y] = pointAt(sector.from + sector.degrees / 2, radius);
  const colour = sector.film === "none" ? "#ffffff" : (sector.colour ?? "#ffffff");
  const lines = [name, `${rounded(sector.degrees, 2)}°`];
  set(text, "font-size", rounded(size));
  set(text, "fill", luminance(colour) > 0.179 ? "#000000" : "#ffffff");
  set(text, "stroke", colour);
  set(text, "stroke-width", rounded(0.2 * size));
  set(text, "transform", `translate(${rounded(x)} ${rounded(y)})`);
  if (text.childElementCount !== 2) {
    text.replaceChildren(svg("tspan", { x: 0, dy: "-0.2em" }), svg("tspan", { x: 0, dy: "1.15em" }));
  }
  lines.forEach((line, at) => set(text.children[at], "text", line));
}

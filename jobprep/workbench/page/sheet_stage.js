/**
 * A sheet as a picture in three layers, so that playing redraws as little as possible: the parts,
 * drawn once; what is cut already, in blocks that are shown or hidden; the cut that goes on.
 */
import { html, set, svg } from "./elements.js";

const BLOCK = 40;
const MARGIN = 3;

/** Return path data one after the other; each begins with a place of the sheet, not of the last. */
const joined = (all) => all.map((d) => `M0 0${d}`).join("");

/** Return the picture of a sheet: ``element``, ``mark`` for parts, ``draw`` for the head. */
export function createStage(sheet, colour, name, pick) {
  const box = `${-MARGIN} ${-sheet.height - MARGIN} ${sheet.width + 2 * MARGIN} ${sheet.height + 2 * MARGIN}`;
  const layer = (...children) => svg("svg", { viewBox: box, "aria-hidden": "true" }, ...children);
  const places = new Map();
  const shapes = sheet.parts.map((part) => {
    const shape = svg("path", { class: "part", d: part.d, fill: colour });
    places.set(shape, part);
    return shape;
  });
  const ground = svg("svg", { viewBox: box, role: "img", "aria-label": name },
    svg("path", { class: "sheet", d: sheet.outline }), ...shapes,
    ...sheet.leftovers.map((d) => svg("path", { class: "kept", d })));
  ground.addEventListener("click", ({ target }) => {
    if (places.has(target)) pick(places.get(target));
  });

  const { strokes } = sheet;
  const blocks = [];
  for (let first = 0; first < strokes.length; first += BLOCK) {
    blocks.push(svg("path", { class: "cut", d: joined(strokes.slice(first, first + BLOCK).map(({ d }) => d)), visibility: "hidden" }));
  }
  const last = svg("path", { class: "cut" });
  const travels = svg("path", { class: "travels", d: strokes.map(({ from, to }, at) => `${at ? "L" : "M0 0L"}${from}M${to}`).join("") });
  const bad = svg("path", { class: "bad", "fill-rule": "evenodd" });
  const chosen = svg("path", { class: "chosen" });
  const radius = Math.max(sheet.width, sheet.height) / 110;
  const now = svg("path", { class: "now" });
  const travel = svg("line", { class: "travel" });
  const mark = svg("circle", { class: "mark", r: radius, cx: 0, cy: 0 });
  const element = html("div", { class: "stage" }, ground, layer(bad, travels, ...blocks, last, chosen), layer(now, travel, mark));
  let shown = -1;
  let running = -1;
  let length = 0;

  function showDone(count) {
    if (count === shown) return;
    shown = count;
    const whole = Math.floor(count / BLOCK);
    blocks.forEach((block, at) => set(block, "visibility", at < whole ? null : "hidden"));
    set(last, "d", joined(strokes.slice(whole * BLOCK, count).map(({ d }) => d)));
  }

  function showRunning(stroke) {
    if (stroke === running) return;
    running = stroke;
    set(now, "d", strokes[stroke]?.d ?? "");
    length = strokes[stroke] ? now.getTotalLength() : 0;
    set(now, "stroke-dasharray", `${length} ${length + 1}`);
  }

  const between = ([ax, ay], [bx, by], share) => [ax + share * (bx - ax), ay + share * (by - ay)];

  return {
    element,
    /** Mark every copy of a part; 0 marks none. */
    mark(number) {
      set(chosen, "d", joined(sheet.parts.filter((part) => part.number === number).map(({ d }) => d)));
    },
    /** Mark the parts that came out bad. */
    spoil(isBad) {
      set(bad, "d", joined(sheet.parts.filter(isBad).map(({ d }) => d)));
    },
    /** Show what the head does: see ``placeAt``. */
    draw({ stroke, phase, share }) {
      showDone(stroke);
      showRunning(stroke);
      const start = stroke > 0 ? strokes[stroke - 1].to : [0, 0];
      const here = strokes[stroke];
      let at = [0, 0];
      if (phase === "travel") at = between(start, here?.from ?? [0, 0], share);
      else if (phase === "back") at = between(here.to, here.from, share);
      else if (phase === "pierce") at = here.from;
      else if (phase === "run") {
        const point = now.getPointAtLength(share * length);
        at = [point.x, point.y];
      }
      const isMoving = phase === "travel";
      set(now, "stroke-dashoffset", phase === "run" ? length * (1 - share) : phase === "back" ? 0 : length);
      for (const [key, value] of [["x1", start[0]], ["y1", start[1]], ["x2", at[0]], ["y2", at[1]]]) set(travel, key, value);
      set(travel, "visibility", isMoving ? null : "hidden");
      set(mark, "transform", `translate(${at[0]} ${at[1]})`);
    },
  };
}

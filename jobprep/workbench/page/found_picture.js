/** The photograph, what was found drawn over it, and what the pointer and the keys do to it. */
import { addHole, moveEdge, removeHole } from "./corrections.js";
import { doubtsOf, thingOf } from "./doubts.js";
import { button, set, svg } from "./elements.js";
import { between, dial, dialOf, placeAt } from "./plane.js";

const CLOSER = 1.5;
const LOUPE = 5;

const points = (places) => places.map((each) => each.join(",")).join(" ");
const closed = (places, kind) => [
  svg("polygon", { points: points(places), class: "found under" }),
  svg("polygon", { points: points(places), class: `found ${kind}` }),
];
const line = (places, kind) => [
  svg("polyline", { points: points(places), class: "found under" }),
  svg("polyline", { points: points(places), class: `found ${kind}` }),
];

/** Return a view of the picture; ``bar`` gets the buttons of the view. */
export function createPicture(picture, bar, store, actions, path) {
  const address = `/api/picture?path=${encodeURIComponent(path)}`;
  const ground = svg("image", { href: address });
  const over = svg("g");
  const thumbs = svg("g");
  const loupe = svg("g", { class: "loupe", hidden: true });
  picture.append(ground, over, thumbs, loupe);
  let window = null; // what is seen of the picture: x, y, width, height
  let size = null;
  let before = null;
  let drag = null;

  /** Return the pixel of the picture under a pointer. */
  function under(event) {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(picture.getScreenCTM().inverse());
    return [at.x, at.y];
  }

  const unit = () => window.width / Math.max(1, picture.clientWidth);

  function look(next) {
    const width = Math.min(size.width, Math.max(40, next.width));
    const height = (width * size.height) / size.width;
    const x = Math.min(size.width - width, Math.max(0, next.x));
    const y = Math.min(size.height - height, Math.max(0, next.y));
    window = { x, y, width, height };
    set(picture, "viewBox", `${x} ${y} ${width} ${height}`);
    before = null;
    draw(store.state);
  }

  function zoom(factor, about = [window.x + window.width / 2, window.y + window.height / 2]) {
    const width = Math.min(size.width, window.width / factor);
    const share = width / window.width;
    look({ width, x: about[0] - (about[0] - window.x) * share, y: about[1] - (about[1] - window.y) * share });
  }

  bar.append(
    button("Closer", () => zoom(CLOSER)), button("Farther", () => zoom(1 / CLOSER)),
    button("Whole picture", () => look({ ...size, x: 0, y: 0 })),
    ...[["Left", -1, 0], ["Right", 1, 0], ["Up", 0, -1], ["Down", 0, 1]].map(([words, x, y]) =>
      button(words, () => look({ ...window, x: window.x + (x * window.width) / 4, y: window.y + (y * window.height) / 4 }))),
  );
  picture.addEventListener("wheel", (event) => {
    event.preventDefault();
    zoom(event.deltaY < 0 ? 1.2 : 1 / 1.2, under(event));
  }, { passive: false });

  function showLoupe(place) {
    const radius = 70 * unit();
    const clip = svg("clipPath", { id: "round" }, svg("circle", { cx: place[0], cy: place[1] - 1.6 * radius, r: radius }));
    const middle = [place[0], place[1] - 1.6 * radius];
    const copy = svg("image", {
      href: address, width: size.width * LOUPE, height: size.height * LOUPE,
      x: middle[0] - place[0] * LOUPE, y: middle[1] - place[1] * LOUPE,
    });
    loupe.replaceChildren(clip, svg("g", { "clip-path": "url(#round)" }, copy),
      svg("circle", { cx: middle[0], cy: middle[1], r: radius, class: "edge-of" }),
      svg("path", { class: "cross", d: `M${middle[0] - radius} ${middle[1]}h${2 * radius}M${middle[0]} ${middle[1] - radius}v${2 * radius}` }));
    set(loupe, "hidden", null);
  }

  picture.addEventListener("pointerdown", (event) => {
    if (event.button !== 0 || !size) return;
    const { taking } = store.state;
    if (taking) {
      actions.point(under(event).map((each) => Math.round(each * 10) / 10));
      return;
    }
    const thumb = event.target.closest("[data-thing]");
    drag = { thing: thumb?.dataset.thing ?? null, from: under(event), to: under(event), window, isFar: false, x: event.clientX, y: event.clientY };
    picture.setPointerCapture(event.pointerId);
    if (drag.thing) actions.pick(drag.thing);
  });

  picture.addEventListener("pointermove", (event) => {
    if (store.state.taking && size) showLoupe(under(event));
    if (!drag) return;
    drag.isFar ||= Math.hypot(event.clientX - drag.x, event.clientY - drag.y) > 3;
    if (!drag.isFar) return;
    if (!drag.thing) {
      const scale = unit();
      look({ ...drag.window, x: drag.window.x - (event.clientX - drag.x) * scale, y: drag.window.y - (event.clientY - drag.y) * scale });
      return;
    }
    drag.to = under(event);
    showLoupe(drag.to);
    drawOver(store.state);
  });

  picture.addEventListener("pointerup", (event) => {
    set(loupe, "hidden", true);
    const done = drag;
    drag = null;
    if (!done?.thing || !done.isFar) return;
    moved(done.thing, under(event), event.shiftKey);
  });
  picture.addEventListener("pointerleave", () => set(loupe, "hidden", true));
  picture.addEventListener("pointercancel", () => { drag = null; set(loupe, "hidden", true); draw(store.state); });

  /** Keep where a thing was moved to; with ``isHeld`` it stays just there. */
  function moved(thing, place, isHeld) {
    const { found, corrections } = store.state.shown;
    const [kind, number] = thing.split("-");
    if (kind === "edge") {
      const edge = found.edges[number - 1];
      const to = dialOf(found.plane, place);
      actions.correct(moveEdge(corrections.values, edge, to, isHeld), `Separation at ${to.toFixed(1)} degrees of the picture.`);
    } else if (kind === "hole") {
      const hole = found.holes[number - 1];
      const edits = removeHole(corrections.values, hole);
      const kept = edits.find((each) => each.at === "add_holes");
      const values = kept ? { ...corrections.values, add_holes: kept.value ?? [] } : corrections.values;
      actions.correct([...edits.filter((each) => each.at !== "add_holes"), ...addHole(values, place, hole.width)], "Hole moved.");
    }
  }

  const turned = new Map();

  /** Turn an edge by keys; it is kept when the keys rest. */
  function turn(number, by) {
    const { found, corrections } = store.state.shown;
    const edge = found.edges[number - 1];
    const to = (turned.get(number)?.to ?? edge.dial) + by;
    clearTimeout(turned.get(number)?.timer);
    const timer = setTimeout(() => {
      turned.delete(number);
      actions.correct(moveEdge(corrections.values, edge, to, true), `Separation held at ${dial(to).toFixed(1)} degrees of the picture.`);
    }, 600);
    turned.set(number, { to, timer });
    drawOver(store.state);
  }

  /** Return an edge's dial angle as it is drawn now: found, dragged or turned by keys. */
  function dialNow(found, edge, number) {
    if (drag?.isFar && drag.thing === `edge-${number}`) return dialOf(found.plane, drag.to);
    return turned.get(number)?.to ?? edge.dial;
  }

  /** Return a mark for each doubt that has a place and no thumb of its own. */
  function marks({ shown, doubt: key, looked }) {
    const r = 9 * unit();
    return doubtsOf(shown).filter((each) => each.at && !thingOf(each) && !looked.includes(each.key)).flatMap(({ at: [x, y], key: own }) => [
      svg("circle", { cx: x, cy: y, r, class: own === key ? "asked now" : "asked" }),
      svg("text", { x, y: y + 0.6 * r, "font-size": 1.7 * r, class: "asked-sign" }, "?")]);
  }

  /** Return the design as the copy should show it, and a mark for each line of the verdict. */
  function verdicts(compared) {
    if (!compared) return [];
    const r = 10 * unit();
    return [...compared.circles.flatMap((each) => closed(each, "wanted")), ...compared.lines.flatMap((each) => line(each, "wanted")),
      ...compared.marks.flatMap(({ at: [x, y], numbers, verdict }) => [
        svg("circle", { cx: x, cy: y, r, class: `verdict ${verdict.replace(" ", "-")}` }),
        svg("text", { x, y: y + 0.35 * r, "font-size": r, class: "verdict-sign" }, numbers.length > 2 ? `${numbers[0]}…` : numbers.join(","))])];
  }

  function drawOver(state) {
    const { shown, picked, points: given } = state;
    const found = shown?.found;
    const drawn = [];
    if (found) {
      drawn.push(...closed(found.rim, found.doubt ? "rim unsure" : "rim"));
      for (const ring of found.rings) drawn.push(...closed(ring, "rim"));
      if (found.bore) drawn.push(...closed(found.bore.points, "rim"));
      if (found.sheet) drawn.push(...closed(found.sheet, "rim"));
      found.edges.forEach((edge, at) => {
        const now = dialNow(found, edge, at + 1);
        const kind = edge.doubt ? "edge unsure" : "edge";
        drawn.push(svg("polygon", { points: points(edge.band), class: edge.doubt ? "band wide" : "band" }));
        drawn.push(...(Math.abs(between(now, edge.dial)) < 1e-9 ? line(edge.line, kind)
          : line([placeAt(found.plane, now, 0.1), placeAt(found.plane, now, 1)], kind)));
      });
      for (const edge of found.left_out) drawn.push(...line(edge.line, "unsure"));
      for (const hole of found.holes) drawn.push(...closed(hole.points, hole.doubt ? "hole unsure" : "hole"));
    }
    for (const [x, y] of given) drawn.push(svg("circle", { cx: x, cy: y, r: 4 * unit(), class: "point" }));
    over.replaceChildren(...drawn, ...marks(state), ...verdicts(state.compared));
    drawThumbs(found, picked);
  }

  function drawThumbs(found, picked) {
    const focused = document.activeElement?.dataset?.thing;
    const made = [];
    (found?.edges ?? []).forEach((edge, at) => {
      const now = dialNow(found, edge, at + 1);
      const angle = dial(edge.angle + between(now, edge.dial));
      made.push(thumb(`edge-${at + 1}`, placeAt(found.plane, now, 0.93), edge.doubt, picked, {
        role: "slider", "aria-valuemin": 0, "aria-valuemax": 360, "aria-valuenow": angle.toFixed(2),
        "aria-label": `Separation ${at + 1}`,
        "aria-valuetext": `separation ${at + 1}, ${angle.toFixed(1)} degrees${edge.doubt ? `, not certain: ${edge.doubt}` : ""}`,
      }));
    });
    (found?.holes ?? []).forEach((hole, at) => {
      made.push(thumb(`hole-${at + 1}`, hole.at, hole.doubt, picked, {
        role: "button", "aria-label": `Hole ${at + 1}${hole.doubt ? `, not certain: ${hole.doubt}` : ""}`,
      }));
    });
    thumbs.replaceChildren(...made);
    if (focused) thumbs.querySelector(`[data-thing="${focused}"]`)?.focus({ preventScroll: true });
  }

  function thumb(thing, [x, y], doubt, picked, attributes) {
    const scale = unit();
    const kind = ["thumb", doubt ? "unsure" : "", picked === thing ? "picked" : ""].filter(Boolean).join(" ");
    return svg("g", { class: kind, "data-thing": thing, tabindex: 0, ...attributes, onkeydown: (event) => keyed(event, thing) },
      svg("circle", { cx: x, cy: y, r: 14 * scale, class: "target" }),
      svg("circle", { cx: x, cy: y, r: 6 * scale, class: "knob" }));
  }

  const STEPS = { ArrowRight: 0.1, ArrowUp: 0.1, ArrowLeft: -0.1, ArrowDown: -0.1, PageUp: 1, PageDown: -1 };

  function keyed(event, thing) {
    const [kind, number] = thing.split("-");
    if (event.key === "Enter" || event.key === " ") actions.pick(thing);
    else if (kind === "edge" && STEPS[event.key]) turn(Number(number), STEPS[event.key]);
    else return;
    event.preventDefault();
  }

  function draw(state) {
    const { shown } = state;
    if (!shown) return;
    if (!size) {
      size = shown.picture;
      set(ground, "width", size.width);
      set(ground, "height", size.height);
      look({ ...size, x: 0, y: 0 });
      return;
    }
    const now = [shown, state.picked, state.points, state.taking, state.doubt, state.looked, state.compared];
    if (before?.every((each, at) => each === now[at])) return;
    before = now;
    drawOver(state);
  }

  new ResizeObserver(() => size && drawOver(store.state)).observe(picture);
  /** Turn to a place and what lies within a reach of it, pixels; to the whole picture without a place. */
  picture.lookAt = (at, reach) => {
    if (!at) return look({ ...size, x: 0, y: 0 });
    const width = reach * Math.max(1, size.width / size.height);
    look({ width, x: at[0] - width / 2, y: at[1] - (width * size.height) / size.width / 2 });
  };
  return draw;
}

/**
 * The thumbs on the disc: sliders for pointer, touch and keyboard.
 *
 * A drag keeps the offset between pointer and thumb, so nothing jumps when it is taken. Each thumb
 * is a slider of its own (ARIA, slider with several thumbs): its bounds are its neighbours.
 */
import { separations } from "./disc.js";
import { levelPlace, sectorAt } from "./dial.js";
import { set, svg } from "./elements.js";
import { dialAngle, onDial, pointAt, rounded, snappedAngle, stepped, turnBetween } from "./geometry.js";
import { keyed, movables, moved, STEPS } from "./movable.js";
import { remembered, shownDisc, shownLayer } from "./state.js";

/** How far from a thumb a pointer takes it, CSS px: half a target of 24 px, more for a finger. */
const REACH = { mouse: 13, pen: 16, touch: 22 };
const LEAST_TARGET = 12.5;

/** Return all movable things of what is shown. @param {import("./state.js").State} state */
export const movablesOf = remembered((disc, layer) => (disc ? movables(disc, layer) : []));

/** Return a view that draws the thumbs into a picture, and follows pointer and keys. */
export function createHandles(picture, store, changes) {
  const group = svg("g", { class: "thumbs" });
  picture.append(group);
  let thumbs = new Map();
  let taken = null;
  let pressed = null;

  const things = () => movablesOf(shownDisc(store.state), store.state.layer);
  const thing = (id) => things().find((each) => each.id === id);

  /** Return where a pointer is on the disc, mm, as if the chosen level lay flat. */
  function onDisc(event) {
    const matrix = picture.getScreenCTM().inverse();
    const { x, y } = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix);
    const { flat, down } = levelPlace(shownDisc(store.state), store.state.layer, store.state.look);
    return [x, (y - down) / flat];
  }

  function nearest(event) {
    let best = null;
    let least = REACH[event.pointerType] ?? REACH.mouse;
    for (const [id, thumb] of thumbs) {
      const box = thumb.lastChild.getBoundingClientRect();
      const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
      const away = Math.hypot(event.clientX - x, event.clientY - y);
      if (away <= least) [best, least] = [id, away];
    }
    return best;
  }

  function press(event) {
    if (event.button !== 0 || !event.isPrimary || taken || !shownDisc(store.state)) return;
    const id = nearest(event);
    if (!id) return pickPart(event);
    event.preventDefault();
    const [x, y] = onDisc(event);
    const held = thing(id);
    const partner = held.kind === "hole" && held.moves === "angle" ? thing(`hole-${held.hole}-radius`) : null;
    taken = { held, partner, angle: dialAngle(x, y), radius: Math.hypot(x, y), raw: held.value, edits: [] };
    taken.grabbed = taken.radius;
    picture.setPointerCapture(event.pointerId);
    store.change({ picked: id });
    thumbs.get(id).focus({ preventScroll: true });
  }

  function pickPart(event) {
    const part = event.target.closest?.("[data-sector]");
    const { state } = store;
    const isApart = state.look === "apart" && part;
    const index = isApart ? Number(part.dataset.layer) : state.layer;
    const layer = shownDisc(state).layers.find((each) => each.index === index);
    const number = isApart ? Number(part.dataset.sector) : layer && sectorAt(shownDisc(state), layer, ...onDisc(event));
    if (number !== null && number !== undefined) store.change({ layer: index, picked: `sector-${number}` });
  }

  function drag(event) {
    if (!taken) return;
    const [x, y] = onDisc(event);
    const [angle, radius] = [dialAngle(x, y), Math.hypot(x, y)];
    const isSnapping = store.state.snaps && !event.shiftKey;
    const { held, partner } = taken;
    const pointer = 1 / picture.getScreenCTM().a;
    taken.radius = radius;
    if (held.moves === "angle") {
      taken.raw += turnBetween(taken.angle, angle);
      taken.angle = angle;
      const pointerStep = (pointer / Math.max(radius, pointer)) * (180 / Math.PI);
      const own = held.kind === "separation" ? store.state.layer : 0;
      const others = separationsOfOthers(shownDisc(store.state), own);
      const value = isSnapping
        ? snappedAngle(taken.raw, { others, pointerStep, reach: Math.max(0.75, 2 * pointerStep) })
        : stepped(taken.raw, STEPS.angle[1]);
      taken.edits = held.edits(moved(held, value));
      if (partner) taken.edits = [...taken.edits, ...partner.edits(length(partner, isSnapping))];
    } else {
      taken.edits = held.edits(length(held, isSnapping));
    }
    changes.attempt(taken.edits);
  }

  function length(held, isSnapping) {
    const raw = held.value + held.perRadius * (taken.radius - taken.grabbed);
    return moved(held, stepped(raw, STEPS.length[isSnapping ? 0 : 1]));
  }

  function release() {
    if (!taken) return;
    const { held, edits } = taken;
    taken = null;
    const now = thing(held.id);
    if (edits.length && now) changes.keep(edits, now.spoken(now.value));
  }

  function cancel() {
    if (taken || pressed) changes.drop();
    taken = pressed = null;
  }

  function key(event, id) {
    if (event.key === "Escape") return cancel();
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const held = thing(id);
    const isFree = event.shiftKey || !store.state.snaps;
    const value = held && keyed(held, event.key, isFree);
    if (value === null || value === undefined) return;
    event.preventDefault();
    pressed = { id, edits: held.edits(value) };
    changes.attempt(pressed.edits);
  }

  /** A key let go, or the focus lost, saves what the keys did: one edit however long they were held. */
  function letGo(id) {
    if (pressed?.id !== id) return;
    const { edits } = pressed;
    pressed = null;
    const now = thing(id);
    if (now) changes.keep(edits, now.spoken(now.value));
  }

  function made({ id, kind, moves, label }) {
    const shape = kind === "separation" ? svg("circle", { class: "knob" }) : svg("path", { class: "knob" });
    const thumb = svg("g", { class: `thumb ${kind} ${moves}`, role: "slider", tabindex: 0, id: `thumb-${id}` },
      svg("title", { text: label }), shape, svg("circle", { class: "target" }));
    thumb.addEventListener("keydown", (event) => key(event, id));
    thumb.addEventListener("keyup", (event) => event.key !== "Shift" && letGo(id));
    thumb.addEventListener("blur", () => letGo(id));
    thumb.addEventListener("focus", () => store.change({ picked: id }));
    return thumb;
  }

  picture.addEventListener("pointerdown", press);
  // A finger that holds a thumb must not scroll: touch-action of a part of a picture does not say so
  // everywhere. Its pointerdown comes before its touchstart (Pointer Events 3, section 11).
  const hold = (event) => taken && event.preventDefault();
  picture.addEventListener("touchstart", hold, { passive: false });
  picture.addEventListener("pointermove", drag);
  picture.addEventListener("pointerup", release);
  picture.addEventListener("pointercancel", cancel);
  picture.addEventListener("keydown", (event) => event.key === "Escape" && cancel());
  new ResizeObserver(() => sized()).observe(picture);

  let size = 0;
  function sized() {
    const matrix = picture.getScreenCTM();
    const now = matrix?.a || 1;
    if (now === size) return;
    size = now;
    for (const thumb of thumbs.values()) dress(thumb);
  }

  function dress(thumb) {
    const px = 1 / (size || 1);
    set(thumb.lastChild, "r", rounded(LEAST_TARGET * px));
    const r = rounded(6 * px);
    const knob = thumb.querySelector(".knob");
    if (knob.tagName === "circle") set(knob, "r", r);
    else set(knob, "d", `M0 ${-r}L${r} 0L0 ${r}L${-r} 0Z`);
  }

  return (state) => {
    const disc = shownDisc(state);
    const all = movablesOf(disc, state.layer);
    const keyNow = all.map((each) => each.id).join();
    if (keyNow !== [...thumbs.keys()].join()) {
      const focused = document.activeElement?.id;
      thumbs = new Map(all.map((each) => [each.id, thumbs.get(each.id) ?? made(each)]));
      group.replaceChildren(...thumbs.values());
      if (focused?.startsWith("thumb-") && document.activeElement?.id !== focused) {
        document.getElementById(focused)?.focus({ preventScroll: true });
      }
      size = 0;
    }
    sized();
    if (!disc) return;
    const { flat, down } = levelPlace(disc, shownLayer(state)?.index ?? 1, state.look);
    const room = LEAST_TARGET / (size || 1);
    for (const each of all) {
      // A hole's second thumb stays clear of its first.
      const off = each.thumbOff === undefined ? 0 : Math.max(0, 2 * room - each.thumbOff);
      const [x, y] = pointAt(each.angle, Math.max(0, each.radius - off));
      const thumb = thumbs.get(each.id);
      set(thumb, "transform", `translate(${rounded(x)} ${rounded(y * flat + down)})`);
      set(thumb, "aria-label", each.label);
      set(thumb.firstChild, "text", each.label);
      set(thumb, "aria-valuenow", rounded(each.value));
      set(thumb, "aria-valuemin", rounded(each.min));
      set(thumb, "aria-valuemax", rounded(each.max));
      set(thumb, "aria-valuetext", each.spoken(each.value));
      thumb.classList.toggle("picked", state.picked === each.id);
    }
  };
}

/** Return the dial angles of the separations of all layers but one. */
export function separationsOfOthers(disc, index) {
  const others = disc.layers.filter((layer) => layer.index !== index);
  return others.flatMap((layer) => separations(layer).map(onDial));
}

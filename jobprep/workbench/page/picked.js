/**
 * The chosen thing: its typed value and step buttons, so that whatever can be dragged can be moved
 * by single clicks as well; for a sector its films, and how to split and merge it.
 */
import { becomesDegrees, filmWord, pairAt } from "./disc.js";
import { button, html, set } from "./elements.js";
import { createField } from "./field.js";
import { onDial, rounded } from "./geometry.js";
import { movablesOf } from "./handles.js";
import { moved, STEPS } from "./movable.js";
import { createPalette } from "./palette.js";
import { shownDisc, shownLayer } from "./state.js";

/** Return a view that shows the chosen thing in a section. */
export function createPicked(section, store, changes) {
  const title = html("h2", {});
  const note = html("p", { class: "note" });
  const body = html("div", { class: "picked-body" });
  const becomes = html("p", { class: "becomes" });
  section.append(title, note, body, becomes);
  const palette = createPalette((film) => {
    const layer = shownLayer(store.state);
    const sector = layer.sectors.length > 1 ? chosenSector(store.state) : null;
    changes.keep([{ do: "recolour", layer: layer.index, sector, film }], `film ${filmWord(film)}`);
  });
  let built = "";
  let fields = [];

  const thing = (id) => movablesOf(shownDisc(store.state), store.state.layer).find((each) => each.id === id);

  function stepButtons(id, words) {
    const step = (way) => () => {
      const held = thing(id);
      const [half, fine] = STEPS[held.moves];
      const value = moved(held, held.value + way * (store.state.snaps ? half : fine));
      changes.keep(held.edits(value), held.spoken(value));
    };
    return [
      button("−", step(-1), { class: "step", "aria-label": `${words}, one step less` }),
      button("+", step(1), { class: "step", "aria-label": `${words}, one step more` }),
    ];
  }

  /** Add a row with a typed value and step buttons for a movable thing. */
  function movableRow(id, label) {
    const { at, moves } = thing(id);
    const read = () => {
      const held = thing(id);
      return held ? (held.moves === "angle" ? onDial(held.value) : held.value) : null;
    };
    const unit = moves === "angle" ? "°" : "mm";
    const field = createField({ label, unit, at, read, edits: (value) => thing(id).edits(value) }, store, changes);
    fields.push(field);
    return html("div", { class: "row" }, field.node, ...stepButtons(id, label));
  }

  function buildMovable(held) {
    if (held.kind === "hole") {
      const number = held.hole;
      body.append(movableRow(`hole-${number}-angle`, "Angle"), movableRow(`hole-${number}-radius`, "Radius"));
      return;
    }
    body.append(movableRow(held.id, held.kind === "separation" ? "Lies at" : "Diameter"));
    if (held.kind !== "separation") return;
    const merge = () =>
      changes.keep([{ do: "merge sectors", layer: held.layer, after: held.after }], "two sectors are one");
    body.append(button("Merge the two sectors", merge));
  }

  function buildSector(layer, number) {
    body.append(palette.node);
    if (layer.sectors.length > 1) {
      const at = `layer[${layer.index}].sector[${number}].name`;
      const read = (disc) => disc.layers.find(({ index }) => index === layer.index)?.sectors[number - 1]?.name;
      const edits = (value) => [{ do: "set", at, value }];
      const field = createField({ label: "Name of the sector", at, isText: true, read, edits, hint: "none" }, store, changes);
      fields.push(field);
      body.append(field.node);
    }
    if (layer.sectors.length < 2) {
      const divide = () => changes.keep([
        { do: "sectors", layer: layer.index, films: [layer.film ?? "?", "?"] },
      ], "the ring is two sectors");
      body.append(button("Divide into two sectors", divide));
      return;
    }
    const split = () => {
      const { from, degrees } = shownLayer(store.state).sectors[number - 1];
      const at = rounded(onDial(from + degrees / 2));
      changes.keep([{ do: "split sector", layer: layer.index, sector: number, at }], "the sector is two");
    };
    const merge = () =>
      changes.keep([{ do: "merge sectors", layer: layer.index, after: number }], "two sectors are one");
    body.append(html("div", { class: "row" }, button("Split in the middle", split),
      button("Merge with the next", merge)));
  }

  return (state) => {
    const disc = shownDisc(state);
    const layer = shownLayer(state);
    const held = disc && movablesOf(disc, state.layer).find((each) => each.id === state.picked);
    const number = disc ? chosenSector(state) : null;
    const isThere = Boolean(held) || (number !== null && number <= (layer?.sectors.length ?? 0));
    const key = isThere ? `${state.picked} ${state.layer} ${layer?.sectors.length}` : "";
    if (key !== built) {
      built = key;
      fields = [];
      body.replaceChildren();
      if (held) buildMovable(held);
      else if (isThere) buildSector(layer, number);
    }
    const edits = [...state.sending, ...state.trial];
    const words = disc && edits.length ? becomesDegrees(state.opened.disc, edits) : "";
    set(becomes, "text", words && `${words[0].toUpperCase()}${words.slice(1)}.`);
    set(section, "class", isThere ? "picked" : "picked nothing");
    if (!isThere) {
      set(title, "text", "Nothing is chosen");
      set(note, "text", disc ? "Click a sector or take a separation, a hole or a radius." : "");
      return;
    }
    if (held) drawMovable(held, layer);
    else drawSector(state, layer, number);
    for (const field of fields) field.draw(state);
  };

  function drawMovable(held, layer) {
    if (held.kind === "separation") {
      const [before, after] = pairAt(layer, held.after);
      set(title, "text", `Separation between ${filmWord(before.film)} and ${filmWord(after.film)}`);
      set(note, "text", `${rounded(before.degrees)}° before it, ${rounded(after.degrees)}° after it.`);
    } else {
      set(title, "text", held.kind === "hole" ? held.label.replace(/^\w+ of h/, "H") : held.label);
      set(note, "text", "");
    }
  }

  function drawSector(state, layer, number) {
    const sector = layer.sectors[number - 1];
    const { film } = sector ?? layer;
    const where = sector
      ? `${rounded(sector.degrees)}° from ${rounded(sector.from)}° on`
      : "a full ring";
    set(title, "text", sector ? `Sector ${number} of ${layer.name}: ${filmWord(film)}` : `${layer.name}: ${filmWord(film)}`);
    set(note, "text", `${where[0].toUpperCase()}${where.slice(1)}.`);
    palette.draw(state.films, film, "Film", Boolean(sector));
  }
}

/** Return the number of the chosen sector, 0 for a ring, null where none is chosen. */
function chosenSector({ picked }) {
  const found = /^sector-(\d+)$/.exec(picked ?? "");
  return found ? Number(found[1]) : null;
}

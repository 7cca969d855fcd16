/** The sectors of the chosen layer as a table of typed values. */
import { filmWord, separations } from "./disc.js";
import { button, chip, html, set } from "./elements.js";
import { createFault, createField, faultRow } from "./field.js";
import { onDial, rounded } from "./geometry.js";
import { shownDisc, shownLayer } from "./state.js";

const GIVEN = { degrees: "degrees", share: "share", ms: "ms" };

/** Return a view of the sectors in a section. */
export function createSectors(section, store, changes) {
  const title = section.querySelector("h2");
  const note = html("p", { class: "note" });
  const names = ["Sector", "Wide °", "Ends at °", "Given as", ""];
  const head = html("thead", {}, html("tr", {}, ...names.map((name) =>
    name ? html("th", { scope: "col" }, name) : html("td"))));
  const table = html("table", { class: "typed" }, head);
  const toRing = button("Make it a full ring", () => {
    const layer = shownLayer(store.state);
    changes.keep([{ do: "sectors", layer: layer.index, films: [layer.sectors[0].film] }], "the layer is a full ring");
  });
  section.append(note, table, toRing);
  let built = "";
  let rows = [];

  function build(layer) {
    rows = layer.sectors.map((_, at) => buildRow(layer.index, at + 1));
    for (const old of table.querySelectorAll("tbody")) old.remove();
    table.append(...rows.map(({ node }) => node));
  }

  function buildRow(index, number) {
    const at = `layer[${index}].sector[${number}]`;
    const layerOf = (disc) => disc.layers.find((each) => each.index === index);
    const sectorOf = (disc) => layerOf(disc)?.sectors[number - 1];
    const fault = createFault();
    const wide = createField({
      fault,
      label: `Width of sector ${number}`, at: `${at}.degrees`,
      read: (disc) => sectorOf(disc)?.degrees,
      edits: (value, disc) => widthEdits(layerOf(store.state.opened.disc ?? disc), number, value),
    }, store, changes);
    const ends = createField({
      fault, label: `End of sector ${number}`, at: "",
      read: (disc) => {
        const layer = layerOf(disc);
        return layer?.sectors[number - 1] ? onDial(separations(layer)[number - 1]) : null;
      },
      edits: (angle) => [{ do: "move separation", layer: index, after: number, angle }],
    }, store, changes);
    const pick = button("", () => store.change({ picked: `sector-${number}` }), { class: "film-name" });
    const given = html("td", { "data-name": "Given as" });
    const split = button("Split", () => {
      const { from, degrees } = sectorOf(shownDisc(store.state));
      const middle = rounded(onDial(from + degrees / 2));
      changes.keep([{ do: "split sector", layer: index, sector: number, at: middle }], "the sector is two");
    }, { "aria-label": `Split sector ${number}` });
    const merge = button("Merge", () =>
      changes.keep([{ do: "merge sectors", layer: index, after: number }], "two sectors are one"),
    { "aria-label": `Merge sector ${number} with the next` });
    const row = html("tr", {}, html("th", { scope: "row" }, pick),
      html("td", { "data-name": "Wide °" }, wide.node), html("td", { "data-name": "Ends at °" }, ends.node),
      given, html("td", { class: "tools" }, split, merge));
    const node = html("tbody", { "data-at": at }, row, faultRow(fault, 5));
    return { node, pick, wide, ends, given, before: null };
  }

  function drawRow(row, sector, number, state) {
    const { film, colour, name } = sector;
    const key = `${film} ${colour} ${name}`;
    if (row.key !== key) {
      row.key = key;
      row.pick.replaceChildren(chip(colour, film), `${number} ${name || filmWord(film)}`);
    }
    set(row.pick, "aria-pressed", state.picked === `sector-${number}` ? "true" : "false");
    set(row.given, "text", GIVEN[sector.given] ?? "");
    row.wide.draw(state);
    row.ends.draw(state);
  }

  return (state) => {
    const layer = shownLayer(state);
    set(section, "hidden", layer ? null : "");
    if (!layer) return;
    const isRing = layer.sectors.length < 2;
    set(title, "text", `Sectors of ${layer.name}`);
    set(note, "text", isRing
      ? `A full ring, ${filmWord(layer.film)}. Choose it on the disc to change its film or to divide it.`
      : "Widths are in degrees; a width that is changed takes from the next sector.");
    set(table, "hidden", isRing);
    set(toRing, "hidden", isRing);
    const key = `${state.opened.path} ${layer.index} ${layer.sectors.length}`;
    if (key !== built) build(layer);
    built = key;
    // Only what has changed is written: a drag of one separation touches two rows.
    const others = [state.picked, state.refused, state.opened];
    layer.sectors.forEach((sector, at) => {
      const row = rows[at];
      const given = [sector, layer.start_angle, ...others];
      if (row.before?.every((each, place) => each === given[place])) return;
      row.before = given;
      drawRow(row, sector, at + 1, state);
    });
  };
}

/**
 * Return the edits that make a sector as wide as typed: the separation at its end moves. A width
 * that the next sector cannot give goes to the file's own check as it is.
 */
export function widthEdits(layer, number, value) {
  const sector = layer.sectors[number - 1];
  const next = layer.sectors[number % layer.sectors.length];
  const fits = Number.isFinite(value) && value > 0 && value < sector.degrees + next.degrees;
  if (!fits) return [{ do: "set", at: `layer[${layer.index}].sector[${number}].degrees`, value }];
  const angle = rounded(onDial(sector.from + value));
  return [{ do: "move separation", layer: layer.index, after: number, angle }];
}

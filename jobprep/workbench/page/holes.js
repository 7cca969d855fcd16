/** The holes of the disc as a table of typed values. */
import { button, html, set } from "./elements.js";
import { createFault, createField, faultRow } from "./field.js";
import { rounded } from "./geometry.js";
import { shownDisc } from "./state.js";

const FIELDS = [
  ["name", "Name", ""],
  ["diameter", "Diameter", "mm"],
  ["radius", "Radius", "mm"],
  ["angle", "Angle", "°"],
];

/** Return a view of the holes in a section. */
export function createHoles(section, store, changes) {
  const note = html("p", { class: "note", text: "There is no hole yet." });
  const names = ["Hole", "Diameter mm", "Radius mm", "Angle °"];
  const head = html("thead", {}, html("tr", {}, ...names.map((name) => html("th", { scope: "col" }, name)), html("td")));
  const table = html("table", { class: "typed" }, head);
  const add = button("Add a hole", () => {
    const { holes, outer_diameter: diameter } = shownDisc(store.state);
    const taken = holes.map((hole) => hole.name);
    const name = taken.includes("index") ? free(taken) : "index";
    const radius = rounded(0.45 * diameter, 1);
    changes.keep([{ do: "add hole", name, diameter: 3, radius, angle: 0 }], `a hole named ${name} is added`);
  });
  section.append(note, table, add);
  let built = "";
  let fields = [];

  function build(disc) {
    fields = [];
    for (const old of table.querySelectorAll("tbody")) old.remove();
    table.append(...disc.holes.map((hole, place) => {
      const number = place + 1;
      const fault = createFault();
      const cells = FIELDS.map(([name, label, unit]) => {
        const at = `hole[${number}].${name}`;
        const field = createField({
          label: `${label} of hole ${number}`, at, isText: name === "name",
          read: (now) => now.holes[place]?.[name],
          edits: (value) => [{ do: "set", at, value }], fault,
        }, store, changes);
        fields.push(field);
        return html(name === "name" ? "th" : "td", { scope: name === "name" ? "row" : null, "data-name": `${label} ${unit}`.trim() }, field.node);
      });
      const remove = button("Remove", () =>
        changes.keep([{ do: "remove hole", hole: number }], "the hole is removed"),
      { "aria-label": `Remove hole ${number}` });
      const row = html("tr", {}, ...cells, html("td", { class: "tools" }, remove));
      return html("tbody", { "data-at": `hole[${number}]` }, row, faultRow(fault, 5));
    }));
  }

  return (state) => {
    const disc = shownDisc(state);
    set(section, "hidden", disc ? null : "");
    if (!disc) return;
    const key = `${state.opened.path} ${disc.holes.length}`;
    if (key !== built) build(disc);
    built = key;
    set(note, "hidden", disc.holes.length > 0);
    set(table, "hidden", disc.holes.length === 0);
    for (const field of fields) field.draw(state);
  };
}

function free(taken) {
  let number = 1;
  while (taken.includes(`hole ${number}`)) number += 1;
  return `hole ${number}`;
}

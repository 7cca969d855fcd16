/** What holds for the disc as a whole: its name, its diameters, its speed. */
import { html, set } from "./elements.js";
import { createField } from "./field.js";
import { shownDisc } from "./state.js";

const SIZES = [
  ["name", "Name", "", (disc) => disc.name],
  ["outer_diameter", "Outer diameter", "mm", (disc) => disc.outer_diameter],
  ["bore.diameter", "Bore diameter", "mm", (disc) => disc.bore?.diameter],
  ["hub_diameter", "Hub diameter", "mm", (disc) => disc.hub_diameter],
  ["speed_rpm", "Speed", "r/min", (disc) => disc.speed_rpm],
];

/** Return a view of the sizes in a section. */
export function createSizes(section, store, changes) {
  const fields = SIZES.map(([at, label, unit, read]) =>
    createField({
      label, unit, at, read, isText: at === "name", edits: (value) => [{ do: "set", at, value }],
    }, store, changes));
  section.append(html("div", { class: "fields" }, ...fields.map(({ node }) => node)));
  return (state) => {
    set(section, "hidden", shownDisc(state) ? null : "");
    for (const field of fields) field.draw(state);
  };
}

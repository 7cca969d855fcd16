/** The list of film levels, front to back, and how the picture shows them. */
import { filmWord } from "./disc.js";
import { button, chip, html, set } from "./elements.js";
import { createField } from "./field.js";
import { shownDisc, shownLayer } from "./state.js";

const LOOKS = [["stacked", "All together"], ["one", "One alone"], ["apart", "Pulled apart"]];
const MOST_CHIPS = 12;

/** Return a view of the levels in a section. */
export function createLayers(section, store, changes) {
  const looks = html("fieldset", { class: "choices" }, html("legend", {}, "Show the layers"),
    ...LOOKS.map(([look, words]) =>
      html("label", {}, html("input", {
        type: "radio", name: "look", value: look, onchange: () => store.change({ look }),
      }), words)));
  const list = html("ol", { class: "levels" });
  const fields = html("div", { class: "fields", role: "group", "aria-label": "The chosen layer" });
  const edit = (words, edits) => changes.keep(edits, words);
  const add = button("Add a layer at the back", async () => {
    const count = shownDisc(store.state).layers.length;
    await edit("a layer is added", [{ do: "add layer", layer: null, name: freeName(store.state), film: "?" }]);
    const isThere = shownDisc(store.state)?.layers.length > count;
    if (isThere) store.change({ layer: count + 1, picked: "sector-0" });
  });
  section.append(looks, list, add, fields);
  let built = "";
  let shown = [];
  let builtFields = "";

  function build(disc) {
    list.replaceChildren(...disc.layers.map((layer) => {
      const { index, name } = layer;
      const last = disc.layers.length;
      const move = (to) => () => edit(`${name} is layer ${to}`, [{ do: "move layer", layer: index, to }]);
      const input = html("input", {
        type: "radio", name: "layer", value: index,
        onchange: () => store.change({ layer: index, picked: layer.sectors.length < 2 ? "sector-0" : null }),
      });
      return html("li", { "data-at": `layer[${index}]` },
        html("label", { class: "level-name" }, input, html("span", {}, `${index} ${name}`), html("span", { class: "chips" })),
        html("span", { class: "tools" },
          button("Forward", move(index - 1), { disabled: index === 1, "aria-label": `Move ${name} forward` }),
          button("Back", move(index + 1), { disabled: index === last, "aria-label": `Move ${name} back` }),
          button("Remove", () => edit(`${name} is removed`, [{ do: "remove layer", layer: index }]),
            { disabled: last === 1, "aria-label": `Remove ${name}` })),
        html("span", { class: "fault" }));
    }));
  }

  function buildFields(layer) {
    const at = `layer[${layer.index}]`;
    const own = (name) => (disc) => disc.layers.find((each) => each.index === layer.index)?.[name];
    const plain = (name) => (value) => [{ do: "set", at: `${at}.${name}`, value }];
    const make = (label, name, more = {}) =>
      createField({ label, unit: "mm", at: `${at}.${name}`, read: own(name), edits: plain(name), ...more }, store, changes);
    shown = [
      make("Name", "name", { unit: "", isText: true }),
      make("Outer diameter", "outer_diameter"),
      make("Inner diameter", "inner_diameter", { hint: "to the bore" }),
    ];
    if (layer.sectors.length > 1) {
      shown.push(make("Start angle", "start_angle", { unit: "°" }), make("Gap at joints", "joint_gap"));
    }
    fields.replaceChildren(...shown.map(({ node }) => node));
  }

  return (state) => {
    const disc = shownDisc(state);
    set(section, "hidden", disc ? null : "");
    if (!disc) return;
    const key = JSON.stringify(disc.layers.map(({ name, sectors, film }) => [name, sectors.length > 1, film]));
    if (key !== built) build(disc);
    built = key;
    for (const input of looks.querySelectorAll("input")) input.checked = input.value === state.look;
    [...list.children].forEach((row, at) => {
      const layer = disc.layers[at];
      const radio = row.querySelector("input");
      radio.checked = layer.index === state.layer;
      drawChips(row.querySelector(".chips"), layer);
    });
    const layer = shownLayer(state);
    const keyNow = layer ? `${layer.index} ${layer.sectors.length > 1} ${state.opened.path}` : "";
    if (layer && keyNow !== builtFields) buildFields(layer);
    builtFields = keyNow;
    for (const field of shown) field.draw(state);
  };
}

/** Show the films of a layer, each once. */
function drawChips(node, layer) {
  const all = layer.sectors.length > 1 ? layer.sectors : [layer];
  const films = [...new Map(all.map((each) => [each.film, each.colour])).entries()];
  const key = JSON.stringify(films);
  if (node.dataset.films === key) return;
  node.dataset.films = key;
  const words = films.map(([film]) => filmWord(film)).join(", ");
  node.replaceChildren(...films.slice(0, MOST_CHIPS).map(([film, colour]) => chip(colour, film)),
    html("small", {}, films.length > 4 ? `${films.length} films` : words));
}

function freeName(state) {
  const names = shownDisc(state).layers.map((layer) => layer.name);
  let number = names.length + 1;
  while (names.includes(`layer ${number}`)) number += 1;
  return `layer ${number}`;
}

/** Swatches of the films at hand, "to be chosen" and, for a sector, "none" among them. */
import { chip, html, set } from "./elements.js";

const OWN = [
  { name: "?", title: "to be chosen", colour: "#ffffff" },
  { name: "none", title: "none, left open", colour: null },
];

/** Return a view of swatches; ``choose(film)`` is called with the name of the one taken. */
export function createPalette(choose) {
  const legend = html("legend");
  const node = html("fieldset", { class: "palette" }, legend);
  let built = "";

  function build(films, hasNone) {
    const all = [...films, ...OWN.filter(({ name }) => hasNone || name !== "none")];
    const swatches = all.map(({ name, title, colour, thickness_mm: thickness, refused }) => {
      const input = html("input", {
        type: "radio", name: "film", value: name, disabled: Boolean(refused),
        onchange: () => choose(name),
      });
      const more = refused || (thickness ? `${title}, ${thickness} mm` : title);
      return html("label", { title: more, class: "swatch" }, input, chip(colour, name), OWN.some((own) => own.name === name) ? title : name);
    });
    node.replaceChildren(legend, ...swatches);
  }

  return {
    node,
    draw(films, film, words, hasNone) {
      const key = JSON.stringify([films, hasNone]);
      if (key !== built) build(films, hasNone);
      built = key;
      set(legend, "text", words);
      for (const input of node.querySelectorAll("input")) {
        input.checked = input.value === (film?.startsWith("?") ? "?" : film);
      }
    },
  };
}

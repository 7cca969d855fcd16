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
    // Buttons, not radio buttons: arrows would save every film on the way to the one that is meant.
    const swatches = all.map(({ name, title, colour, thickness_mm: thickness, refused }) => {
      const more = refused || (thickness ? `${title}, ${thickness} mm` : title);
      const isOwn = OWN.some((own) => own.name === name);
      return html("button", {
        type: "button", class: "swatch", value: name, title: more, disabled: Boolean(refused),
        onclick: () => choose(name),
      }, chip(colour, name), isOwn ? title : name);
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
      const own = film?.startsWith("?") ? "?" : film;
      for (const swatch of node.querySelectorAll("button")) {
        set(swatch, "aria-pressed", swatch.value === own ? "true" : "false");
      }
    },
  };
}

/** What each window of the machine sees over one turn: time drawn as space, so nothing flashes. */
import { html, set } from "./elements.js";

/** Return a view of the strips in a section. */
export function createStrips(section) {
  const body = html("div", { class: "diagrams" });
  section.append(body);
  const read = new DOMParser();
  let before = "";

  return ({ facts, opened }) => {
    const strips = opened?.disc ? (facts?.strips ?? []) : [];
    set(section, "hidden", strips.length ? null : "");
    const key = strips.map((each) => each.svg).join();
    if (key === before) return;
    before = key;
    body.replaceChildren(...strips.map(({ name, svg }) => {
      const picture = document.importNode(read.parseFromString(svg, "text/html").querySelector("svg"), true);
      set(picture, "role", "img");
      set(picture, "aria-label", name);
      return html("div", { class: "diagram wide", tabindex: 0, role: "group", "aria-label": name }, picture);
    }));
  };
}

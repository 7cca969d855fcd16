/** Elements of the page, made and changed without touching what stays as it is. */

const SVG = "http://www.w3.org/2000/svg";

function make(node, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else set(node, name, value);
  }
  node.append(...children.filter((child) => child !== null && child !== undefined));
  return node;
}

/** Return an HTML element; ``onclick`` and its like are listeners. */
export function html(name, attributes = {}, ...children) {
  return make(document.createElement(name), attributes, children);
}

/** Return an SVG element. */
export function svg(name, attributes = {}, ...children) {
  return make(document.createElementNS(SVG, name), attributes, children);
}

/** Give an element an attribute if it has another value; null or false takes it away. */
export function set(node, name, value) {
  if (name === "text") {
    if (node.textContent !== value) node.textContent = value;
  } else if (value === null || value === undefined || value === false) {
    if (node.hasAttribute(name)) node.removeAttribute(name);
  } else {
    const text = value === true ? "" : String(value);
    if (node.getAttribute(name) !== text) node.setAttribute(name, text);
  }
}

/** Return a chip of a film's colour; hatched where the film is to be chosen, empty for none. */
export function chip(colour, film = "") {
  const kind = film === "none" ? "chip bare" : film.startsWith("?") ? "chip unchosen" : "chip";
  const box = svg("rect", { x: 0.5, y: 0.5, width: 15, height: 15, rx: 3, fill: colour ?? "none" });
  return svg("svg", { class: kind, viewBox: "0 0 16 16", "aria-hidden": "true" }, box);
}

/** Return a button with words. */
export function button(words, onclick, attributes = {}) {
  return html("button", { type: "button", onclick, ...attributes }, words);
}

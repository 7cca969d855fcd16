/** Pieces of film on the shelf as pictures, all to one scale, each cropped to its own outline. */
import { html, svg } from "./elements.js";

const LARGEST = 14;

/** Return the scale, mm in a rem, at which the largest of pieces is drawn. */
export const scaleOf = (pieces) => Math.max(1, ...pieces.flatMap(({ width, height }) => [width, height])) / LARGEST;

/** Return the picture of a piece with its words. */
export function pieceFigure(piece, scale) {
  const { id, kind, width, height, count } = piece;
  const edge = scale / 8;
  const box = `${-edge} ${-height - edge} ${width + 2 * edge} ${height + 2 * edge}`;
  const drawn = svg("svg", { viewBox: box, width: `${width / scale}rem`, height: `${height / scale}rem`, role: "img", "aria-label": `${id || "new leftover"}, ${kind}, ${piece.size}` },
    svg("path", { d: piece.d, fill: piece.colour, class: "piece" }));
  const lines = [`${piece.size}${count > 1 ? ` × ${count}` : ""}, ${piece.area}`, `${kind}, since ${piece.since}`, ...piece.notes];
  return html("figure", {}, drawn, html("figcaption", {}, html("h4", {}, id || "new leftover"), ...lines.map((line) => html("p", { class: "note" }, line))));
}

/** Return pieces under a heading, "none" where there are none. */
export function piecesUnder(heading, pieces, scale) {
  const body = pieces.length ? html("div", { class: "pieces" }, ...pieces.map((each) => pieceFigure(each, scale))) : html("p", { class: "note" }, "None.");
  return html("div", {}, html("h3", {}, heading), body);
}

/** Return what a change takes off the shelf and brings there. */
export function changePieces({ gone, now, new: came }) {
  const scale = scaleOf([...gone, ...now, ...came]);
  return html("div", { class: "change" }, piecesUnder("Leaves the shelf", gone, scale),
    ...(now.length ? [piecesUnder("Stays, in another number", now, scale)] : []),
    piecesUnder("Comes to the shelf", came, scale));
}

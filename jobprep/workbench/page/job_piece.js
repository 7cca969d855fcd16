/** A piece of stock to scale, with the places where no part may lie: drawn, or given in numbers. */
import { button, html, set, svg } from "./elements.js";
import { typed } from "./field.js";

const LEAST = 1;

/** Return the corners of the rectangle between two points, whole mm, inside a piece's box. */
export function rectangle([x1, y1], [x2, y2], box) {
  const within = (value, from, size) => Math.min(Math.max(Math.round(value), from), from + size);
  const [left, right] = [x1, x2].map((each) => within(each, box.x, box.width)).sort((one, two) => one - two);
  const [low, high] = [y1, y2].map((each) => within(each, box.y, box.height)).sort((one, two) => one - two);
  return [[left, low], [right, low], [right, high], [left, high]];
}

const isLarge = ([[left, low], , [right, high]]) => right - left >= LEAST && high - low >= LEAST;

/** Return a piece's picture with what is done on it; ``refusal`` sends edits and says why not. */
export function createPiece(shape, number, row, title, refusal) {
  const { x, y, width, height, d, defects } = shape;
  const room = Math.max(width, height) * 0.02;
  const drawn = svg("path", { class: "forbidden trial" });
  const picture = svg("svg", { class: "piece", viewBox: `${x - room} ${-y - height - room} ${width + 2 * room} ${height + 2 * room}`, role: "img", "aria-label": `${title}, ${width} × ${height} mm, ${defects.length || "no"} forbidden ${defects.length === 1 ? "place" : "places"}` },
    svg("path", { d, class: "sheet" }), ...defects.map((each) => svg("path", { d: each, class: "forbidden" })), drawn);
  const said = html("p", { class: "note", role: "status" });
  const draw = button("Draw a forbidden place", () => start(draw.getAttribute("aria-pressed") !== "true"), { "aria-pressed": "false" });
  let first = null;

  const keep = (outline) => refusal.keep([{ do: "forbid place", stock: number, outline }], `a forbidden place on stock ${number}`);

  function start(isOn) {
    first = null;
    set(draw, "aria-pressed", isOn ? "true" : "false");
    set(picture, "class", isOn ? "piece drawing" : "piece");
    set(drawn, "d", null);
    set(said, "text", isOn ? "Drag across the place, or click two of its corners. Escape ends it." : "");
  }

  function point(event) {
    const { x: across, y: down } = new DOMPoint(event.clientX, event.clientY).matrixTransform(picture.getScreenCTM().inverse());
    return [across, -down];
  }

  function show(corners) {
    set(drawn, "d", `M${corners.map(([across, up]) => `${across} ${-up}`).join("L")}Z`);
    const [[left, low], , [right, high]] = corners;
    set(said, "text", `${right - left} × ${high - low} mm, ${left} mm from the left, ${low} mm from below.`);
  }

  const isOn = () => draw.getAttribute("aria-pressed") === "true";
  picture.addEventListener("pointerdown", (event) => {
    if (!isOn()) return;
    event.preventDefault();
    picture.setPointerCapture(event.pointerId);
    first ??= point(event);
  });
  picture.addEventListener("pointermove", (event) => first && show(rectangle(first, point(event), shape)));
  picture.addEventListener("pointerup", (event) => {
    if (!first) return;
    const corners = rectangle(first, point(event), shape);
    if (!isLarge(corners)) return; // a click: the opposite corner comes with the next
    start(false);
    keep(corners);
  });

  const inputs = ["left", "below", "width", "height"].map((name) => {
    const id = `place-${number}-${name}`;
    return { name, input: html("input", { id, type: "text", inputmode: "decimal", autocomplete: "off" }), id };
  });
  const form = html("form", { class: "adding", "aria-label": `A forbidden place on ${title}` },
    html("div", { class: "fields" }, ...inputs.map(({ name, input, id }) => html("div", { class: "field" }, html("label", { for: id }, { left: "From the left edge", below: "From the lower edge", width: "Width", height: "Height" }[name]), input, html("span", { class: "unit", "aria-hidden": "true" }, "mm")))),
    html("button", { type: "submit" }, "Forbid this place"));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const [left, low, wide, high] = inputs.map(({ input }) => typed(input.value));
    if (![left, low, wide, high].every(Number.isFinite) || wide <= 0 || high <= 0) {
      set(said, "text", "Give four numbers of mm; width and height above 0.");
      return;
    }
    keep([[left, low], [left + wide, low], [left + wide, low + high], [left, low + high]]);
  });

  const allow = (row.defects ?? []).map((_, at) => button(`Allow forbidden place ${at + 1} again`, () => refusal.keep([{ do: "allow place", stock: number, place: at + 1 }], `place ${at + 1} of stock ${number} allowed again`)));
  const node = html("div", { class: "with-piece" }, picture, html("p", { class: "row" }, draw, ...allow), said, refusal.node,
    html("details", { "data-fold": `numbers-${number}` }, html("summary", {}, "Forbid a place by numbers"), form));
  node.addEventListener("keydown", (event) => event.key === "Escape" && start(false));
  return node;
}

/** What was found, in words and tables, and what a person may say of each thing. */
import { addEdge, addHole, confirmEdge, givePoints, giveValue, moveEdge, removeEdge, removeHole } from "./corrections.js";
import { doubtsOf } from "./doubts.js";
import { button, chip, html, set } from "./elements.js";
import { typed } from "./field.js";
import { dialOf } from "./plane.js";

const WANTED = {
  rim: [5, "Give five or more points all round the rim."],
  bore: [3, "Give three or more points round the edge of the bore."],
  white: [1, "Give the place of something white."],
  hole: [1, "Give the middle of a hole; its width is changed below."],
  edge: [1, "Give a point on a separation."],
};
const HOW = { add_edges: "given", hold_edges: "held", sure_edges: "confirmed" };
/** Return an angle of the dial as words; what rounds to a whole turn is 0. */
const degrees = (angle, digits) => `${(Number(angle.toFixed(digits)) % 360).toFixed(digits)}`;
const pair = (value, digits, unit) => (value ? `${value[0].toFixed(digits)} ± ${value[1].toFixed(digits)} ${unit}` : "not seen");

/** Return the views of all sections; ``part`` finds a section by its id, ``goTo`` turns to a doubt. */
export function createPanels(part, store, actions, goTo) {
  const values = () => store.state.shown.corrections.values;

  /** Show a section's content, made again only when what it shows has changed. */
  function panel(id, content, keys = ({ shown }) => [shown]) {
    const body = html("div");
    part(id).append(body);
    let before = null;
    return (state) => {
      if (!state.shown) return;
      const now = keys(state);
      if (before?.every((each, at) => each === now[at])) return;
      before = now;
      const made = content(state);
      set(part(id), "hidden", made.length ? null : true);
      body.replaceChildren(...made);
    };
  }

  function doubts({ shown, looked }) {
    const all = doubtsOf(shown);
    if (!all.length) return [];
    const rows = all.map((each) => html("li", {}, `${each.words} `, looked.includes(each.key) ? html("small", {}, "Looked at, and left as it is. ") : null,
      button("Look at it", () => goTo(each), { "aria-label": `Look at it: ${each.words}` })));
    return [html("ol", { class: "doubts" }, ...rows)];
  }

  function lengths({ shown: { found } }) {
    const unit = found?.is_mm ? "mm" : "pixels as worked on";
    const give = html("div", { class: "row" },
      button("Give the rim by points", () => actions.take("rim")), button("Give the bore by points", () => actions.take("bore")),
      ...["rim", "bore"].filter((key) => values()[key]).map((key) => button(`Find the ${key} again`, () => actions.correct(giveValue(key, null), `The ${key} is looked for.`))));
    if (!found) return [give];
    return [html("dl", { class: "values" },
      html("dt", {}, "Rim"), html("dd", {}, pair(found.outer_diameter, 3, unit)),
      html("dt", {}, "Bore"), html("dd", {}, pair(found.bore_diameter, 3, unit))), give];
  }

  const table = (names, rows) => html("table", { class: "measured" },
    html("thead", {}, html("tr", {}, ...names.map((each) => (each ? html("th", { scope: "col" }, each) : html("td"))))), html("tbody", {}, ...rows));

  function edges({ shown: { found } }) {
    if (!found) return [];
    const rows = found.edges.map((edge, at) => {
      const input = html("input", { class: "typed-angle", type: "text", inputmode: "decimal", value: degrees(edge.dial, 2), "aria-label": `Separation ${at + 1}, degrees of the picture` });
      input.addEventListener("change", () => {
        const to = typed(input.value);
        if (Number.isFinite(to)) actions.correct(moveEdge(values(), edge, to, true), `Separation held at ${to} degrees of the picture.`);
      });
      return html("tr", { class: edge.doubt ? "unsure-row" : null },
        html("th", { scope: "row" }, `${at + 1}`), html("td", {}, `${degrees(edge.angle, 2)} ± ${edge.off.toFixed(2)}°`),
        html("td", {}, input), html("td", {}, edge.doubt ? "not certain" : (HOW[edge.given] ?? "found")),
        html("td", { class: "tools" }, edge.doubt ? button("Confirm", () => actions.correct(confirmEdge(values(), edge), "Confirmed."), { "aria-label": `Confirm separation ${at + 1}` }) : null,
          button("Remove", () => actions.correct(removeEdge(values(), edge), "Taken out."), { "aria-label": `Remove separation ${at + 1}` })));
    });
    return [table(["No.", "On the disc", "In the picture °", "How", ""], rows),
      html("p", { class: "note" }, "A separation that is dragged goes to the edge that is seen there; with Shift, or typed, it stays just there and counts as ± 1°."),
      button("Add a separation", () => actions.take("edge"))];
  }

  function holes({ shown: { found } }) {
    if (!found) return [];
    const rows = found.holes.map((hole, at) => ({ hole, at })).filter(({ hole }) => !hole.doubt).map(({ hole, at }) => html("tr", {},
      html("th", { scope: "row" }, hole.name), html("td", {}, `${degrees(hole.angle, 2)}°`), html("td", {}, pair(hole.radius, 2, "")),
      html("td", {}, pair(hole.diameter, 2, "")), html("td", { class: "tools" },
        button("Remove", () => actions.correct(removeHole(values(), hole), "Taken out."), { "aria-label": `Remove hole ${at + 1}` }))));
    return [rows.length ? table(["Hole", "Angle", "Radius", "Diameter", ""], rows) : html("p", {}, "No hole was found."), button("Add a hole", () => actions.take("hole"))];
  }

  function zones({ shown: { found } }) {
    if (!found) return [];
    const rows = found.zones.map((zone) => html("tr", {},
      html("th", { scope: "row" }, `${zone.ring}.${zone.number}`),
      html("td", {}, zone.colour ? chip(zone.colour) : null, zone.kind),
      html("td", {}, zone.lab ? `${zone.lab.map((each) => each.toFixed(0)).join(" ")}, ΔE ± ${zone.lab_off.toFixed(1)}` : ""),
      html("td", { class: "words" }, ...(zone.kind === "clear" ? [""] : zone.films.length
        ? zone.films.slice(0, 3).map((film) => html("span", { class: "near" }, chip(film.colour), `${film.names.join(" + ")}, ΔE ${film.difference.toFixed(1)} `))
        : ["none near: to be chosen"])), html("td", {}, zone.doubt)));
    return [table(["Zone", "Seen", "CIELAB", "Nearest films (CIEDE2000)", "Remark"], rows),
      html("div", { class: "row" }, button("Give the place of something white", () => actions.take("white")),
        values().white ? button("Forget the white place", () => actions.correct(giveValue("white", null), "No white place.")) : null)];
  }

  function taken() {
    const now = values();
    const field = (key, label, unit, words) => {
      const input = html("input", { type: "text", id: `taken-${key}`, value: now[key] ?? "", autocomplete: "off" });
      input.addEventListener("change", () => actions.correct(giveValue(key, words ? input.value.trim() : typed(input.value)), `${label} given.`));
      return html("div", { class: words ? "field worded" : "field" }, html("label", { for: `taken-${key}` }, label), input, unit ? html("span", { class: "unit" }, unit) : null);
    };
    const light = html("select", { id: "taken-light" }, ...[["", "nobody said"], ["behind", "from behind the disc"], ["paper", "on white paper, through and back"]]
      .map(([value, words]) => html("option", { value, selected: (now.light ?? "") === value }, words)));
    light.addEventListener("change", () => actions.correct(giveValue("light", light.value), "Light given."));
    return [html("div", { class: "fields" }, field("diameter", "Diameter of the rim", "mm"), field("paper", "Sheet of paper: A4, Letter, WxH", "", true),
      field("scan", "Flatbed scan, dots per inch", ""), field("zero", "Zero, angle in the picture", "°"),
      html("div", { class: "field worded" }, html("label", { for: "taken-light" }, "Light"), light))];
  }

  function making({ shown: { found } }) {
    if (!found) return [];
    const fields = [["out", "File", actions.designName, ""], ["thickness", "Thickness of the original", "", "mm"], ["mass", "Mass of the original", "", "g"], ["snap", "Round angles to", "", "°"], ["snap_mm", "Round lengths to", "", "mm"]];
    const form = html("form", { class: "fields" }, ...fields.map(([name, label, value, unit]) => html("div", { class: unit ? "field" : "field worded" },
      html("label", { for: `make-${name}` }, label), html("input", { id: `make-${name}`, name, value, type: "text", autocomplete: "off" }), unit ? html("span", { class: "unit" }, unit) : null)),
    html("button", { type: "submit" }, "Write the design and open it"));
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      const given = Object.fromEntries(new FormData(form));
      const numbers = Object.fromEntries(["thickness", "mass", "snap", "snap_mm"].map((key) => [key, typed(given[key])]));
      actions.design({ out: given.out.trim(), ...numbers });
    });
    return [form, html("p", { class: "note" }, "No picture shows how many layers there are, which covers, how thick it is and what it weighs.")];
  }

  function picked({ shown, picked: thing, taking, points, doubt }) {
    if (taking) {
      const [least, words] = WANTED[taking];
      const x = html("input", { type: "text", inputmode: "decimal", "aria-label": "Column of a pixel" });
      const y = html("input", { type: "text", inputmode: "decimal", "aria-label": "Row of a pixel" });
      const width = html("input", { type: "text", inputmode: "decimal", value: shown.found ? Math.round(shown.found.radius * 0.05) : 10, "aria-label": "Width of the hole, pixels" });
      const finish = () => {
        const { found } = shown;
        const edits = taking === "hole" ? addHole(values(), points[0], Number(width.value)) : taking === "edge" ? addEdge(values(), dialOf(found.plane, points[0])) : givePoints(taking, points);
        actions.take(null);
        actions.correct(edits, "Given.");
      };
      return [html("h2", {}, words), html("p", { class: "points", role: "status" }, `${points.length} of ${least} given: ${points.map((each) => each.map(Math.round).join(", ")).join("; ") || "click in the picture, or type a pixel"}`),
        html("div", { class: "pick-fields" }, html("span", {}, "Column"), x, html("span", {}, "Row"), y,
          button("Put a point there", () => { if (x.value && y.value) actions.point([Number(x.value), Number(y.value)]); }),
          ...(taking === "hole" ? [html("span", {}, "Width"), width] : [])),
        html("div", { class: "row" }, button("Use these points", finish, { disabled: points.length < least }), button("Leave it", () => actions.take(null)))];
    }
    if (doubt) return []; // the walk shows what can be done
    const [kind, number] = (thing ?? "").split("-");
    const found = shown.found;
    if (kind === "edge" && found?.edges[number - 1]) {
      const edge = found.edges[number - 1];
      return [html("h2", {}, `Separation ${number}: ${degrees(edge.angle, 2)} ± ${edge.off.toFixed(2)}° on the disc`),
        html("p", {}, edge.doubt ? `Not certain: ${edge.doubt}` : (HOW[edge.given] ?? "Found in the picture.")),
        html("div", { class: "row" }, ...[-1, -0.1, 0.1, 1].map((by) => button(`${by > 0 ? "+" : "−"}${Math.abs(by)}°`, () => actions.correct(moveEdge(values(), edge, edge.dial + by, true), "Moved."))),
          button("It is right", () => actions.correct(confirmEdge(values(), edge), "Confirmed."), { disabled: !edge.doubt }),
          button("Remove", () => actions.correct(removeEdge(values(), edge), "Taken out.")))];
    }
    if (kind === "hole" && found?.holes[number - 1]) {
      const hole = found.holes[number - 1];
      return [html("h2", {}, hole.doubt ? `Round mark ${number}` : hole.name), html("p", {}, hole.doubt ? `Left out: ${hole.doubt}` : pair(hole.diameter, 2, "wide")),
        html("div", { class: "row" }, hole.doubt ? button("It is a hole", () => actions.correct([...removeHole(values(), hole), ...addHole(values(), hole.at, hole.width)], "Added.")) : null,
          button("Remove", () => actions.correct(removeHole(values(), hole), "Taken out.")))];
    }
    return [html("h2", {}, "Nothing is chosen"), html("p", { class: "note" }, "Take a separation or a hole in the picture, drag it, or choose it in the tables. The wheel brings the picture closer.")];
  }

  const points = ({ shown, picked: thing, taking, points: given, doubt }) => [shown, thing, taking, given, doubt];
  return [panel("doubts", doubts, ({ shown, looked }) => [shown, looked]), panel("lengths", lengths), panel("edges", edges), panel("holes", holes), panel("zones", zones), panel("taken", taken), panel("making", making), panel("picked", picked, points)];
}

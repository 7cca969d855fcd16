/** A run cut again on another cutter: what the old drawings would give there, and the new run. */
import { api } from "./api.js";
import { button, html, set } from "./elements.js";

const both = ([before, after]) => (before === after ? `${after}` : `${before} → ${after}`);

function table(heads, rows) {
  return html("table", {}, html("thead", {}, html("tr", {}, ...heads.map((each) => html("th", { scope: "col" }, each)))),
    html("tbody", {}, ...rows.map(([first, ...others]) => html("tr", {}, html("th", { scope: "row" }, first),
      ...others.map((each, at) => html("td", { "data-name": heads[at + 1] }, each))))));
}

function changes({ cutters, films, wrong, cautions }) {
  const rows = films.map((each) => [each.title, both(each.kerf), both(each.sheets), both(each.cut), both(each.time), each.kept ? "the nest is kept" : `nested again: ${each.why}`]);
  const sizes = wrong.map((each) => [`${each.number}, ${each.name}`, each.size, each.off, each.holes]);
  return [html("h3", {}, both(cutters)), table(["Film", "Kerf mm", "Sheets", "Cut length", "Time", "Nest"], rows),
    html("h3", {}, sizes.length ? "Cut with the old drawings, these parts would come out wrong" : "With the old drawings no part would have another size"),
    ...(sizes.length ? [table(["Part", "Size mm", "Off mm", "Holes off mm"], sizes)] : []),
    ...(cautions.length ? [html("ul", {}, ...cautions.map((each) => html("li", {}, each)))] : [])];
}

/** Return the recut of a run in a section; ``hear`` takes in what its work reports. */
export function createRecut(section, run) {
  const cutter = html("select", { id: "recut-cutter" }, ...run.cutters.filter(({ name }) => name !== run.cutter.name).map(({ name, title }) => html("option", { value: name }, title)));
  const out = html("input", { id: "recut-out", type: "text", autocomplete: "off", spellcheck: "false" });
  const shown = html("div");
  const told = html("p", { role: "status" });
  const tools = html("p", { class: "row" });
  const beside = run.path.split("/").slice(0, -2);
  let id = null;
  const suggest = () => {
    out.value = [...beside, `${run.folder}-${cutter.value}`].join("/");
    shown.replaceChildren();
    tools.replaceChildren();
    set(told, "text", "");
  };
  cutter.addEventListener("change", suggest);
  suggest();
  section.replaceChildren(html("h2", {}, "Cut again on another cutter"),
    html("div", { class: "fields" }, html("div", { class: "field worded" }, html("label", { for: "recut-cutter" }, "Cutter"), cutter),
      html("div", { class: "field worded" }, html("label", { for: "recut-out" }, "Folder of the new run"), out)),
    html("p", { class: "row" }, button("Show what a recut changes", () => start(false, false))), told, shown, tools);

  async function start(write, replace) {
    tools.replaceChildren();
    set(told, "text", "Working on it …");
    try {
      ({ id } = await api.recut({ path: run.path, cutter: cutter.value, replace, ...(write ? { out: out.value } : {}) }));
      const { said } = await api.work(id);
      for (const state of ["done", "refused", "failed"]) if (said[state]) hear({ id, ...said[state] });
    } catch (error) {
      set(told, "text", error.message);
    }
  }

  function hear(event) {
    if (!id || event.id !== id || event.state === "searching") return;
    id = null;
    if (event.state === "failed") set(told, "text", "It ended without a word; the terminal shows why.");
    if (event.state === "refused") {
      set(told, "text", `${event.message}.`);
      if (event.booked) tools.replaceChildren(button("Replace the booked run all the same", () => start(true, true)));
    }
    if (event.state !== "done") return;
    set(told, "text", event.written ? `Written to ${out.value}.` : "Nothing is written yet.");
    shown.replaceChildren(...changes(event));
    tools.replaceChildren(event.written ? html("a", { href: `/run?path=${encodeURIComponent(`${out.value}/run.toml`)}` }, "Look at the new run")
      : button("Write the new run", () => start(true, false)));
  }

  return { hear };
}

/** The files of the folder, a view for each kind that has one, and a new design. */
import { button, html, set } from "./elements.js";
import { typed } from "./field.js";

/** Kinds of files that have a view on the page, with the name of that view. */
const VIEWS = { design: "disc" };

/** Kinds of files that have a page of their own. */
export const PAGES = { picture: "/photograph", job: "/job", run: "/run", stock: "/shelf" };

/** Return a view of the folder in a section. */
export function createFiles(section, store, changes) {
  const fold = html("details", { class: "fold" });
  const summary = html("h2");
  const list = html("ul", { class: "files" });
  const note = html("p", { class: "note", text: "Designs, jobs, runs, shelves and pictures open on these pages." });
  const short = html("p", { class: "note" });
  fold.append(html("summary", {}, summary), list, short, note, newDesign(store, changes, fold));
  section.append(fold);
  let before = null;
  let isFirst = true;

  return (state) => {
    const { folder, opened } = state;
    if (!folder) return;
    if (isFirst && !folder.open) fold.open = true;
    isFirst = false;
    const given = [folder, opened?.path];
    if (before?.every((each, at) => each === given[at])) return;
    before = given;
    set(summary, "text", `Files in ${folder.folder}`);
    const others = folder.files.filter(({ kind }) => !VIEWS[kind] && !PAGES[kind]).length;
    set(note, "hidden", others === 0);
    set(short, "text", folder.seen ? `This folder is large: only its first ${folder.seen} files and folders were looked at.` : "");
    list.replaceChildren(...folder.files.map((file) => line(file, opened?.path)));
  };

  function line({ path, kind, name }, current) {
    const words = name && name !== path ? `${name} (${path})` : path;
    const what = html("small", {}, kind);
    if (PAGES[kind]) {
      return html("li", {}, html("a", { href: `${PAGES[kind]}?path=${encodeURIComponent(path)}` }, words), " ", what);
    }
    if (!VIEWS[kind]) return html("li", {}, html("span", {}, words), " ", what);
    const open = button(words, () => changes.open(path), { "aria-current": path === current ? "true" : null });
    return html("li", {}, open, " ", what);
  }
}

const NEW = [
  ["path", "File", "new-wheel.toml", ""],
  ["name", "Name", "New wheel", ""],
  ["outer_diameter", "Outer diameter", "120", "mm"],
  ["bore", "Bore diameter", "6.35", "mm"],
];

function newDesign(store, changes, fold) {
  const inputs = NEW.map(([name, label, value, unit]) => {
    const id = `new-${name}`;
    const input = html("input", { id, name, value, type: "text", autocomplete: "off", spellcheck: "false" });
    return html("div", { class: unit ? "field" : "field worded", "data-at": `new.${name}` },
      html("label", { for: id }, label), input, unit ? html("span", { class: "unit", "aria-hidden": "true" }, unit) : null);
  });
  const fault = html("p", { class: "fault error", role: "alert" });
  const form = html("form", { class: "new-design", "aria-label": "A new design" },
    html("h3", {}, "A new design"), html("div", { class: "fields" }, ...inputs),
    html("button", { type: "submit" }, "Write it and open it"), fault);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const given = Object.fromEntries(new FormData(form));
    const sizes = { outer_diameter: typed(given.outer_diameter), bore: typed(given.bore) };
    const isMade = await changes.create({ ...given, ...sizes });
    if (isMade) fold.open = false;
    set(fault, "text", isMade ? "" : (store.state.refused?.findings[0]?.message ?? ""));
  });
  return form;
}

/** The page of the shelf: its pieces, the runs that could be booked, the latest change taken back. */
import { api, Away, listen } from "./api.js";
import { button, html, set } from "./elements.js";
import { changePieces, piecesUnder, scaleOf } from "./pieces.js";

const part = (id) => document.getElementById(id);
const path = new URLSearchParams(location.search).get("path") ?? "";

function alarm(words) {
  part("notices").replaceChildren(...(words ? [html("p", { class: "notice" }, words)] : []));
}

async function load() {
  try {
    const [shelf, { files }] = await Promise.all([api.shelf(path), api.folder()]);
    show(shelf, files.filter(({ kind }) => kind === "run"));
    alarm("");
  } catch (error) {
    alarm(error instanceof Away ? error.message : error.message);
  }
  document.documentElement.dataset.busy = "no";
}

function show({ pieces, history, undo }, runs) {
  const scale = scaleOf(pieces);
  const titles = [...new Set(pieces.map(({ title }) => title))];
  const films = titles.map((title) => piecesUnder(title, pieces.filter((each) => each.title === title), scale));
  part("pieces").replaceChildren(html("h2", {}, "Pieces"), ...(films.length ? films : [html("p", {}, "Nothing is on the shelf.")]));
  set(part("runs"), "hidden", runs.length ? null : true);
  part("runs").replaceChildren(html("h2", {}, "Runs of the folder"), html("p", { class: "note" }, "What a run takes and leaves is shown on its page, where it is booked."),
    html("ul", { class: "files" }, ...runs.map((each) => html("li", {}, html("a", { href: `/run?path=${encodeURIComponent(each.path)}#book` }, each.path)))));
  set(part("undo"), "hidden", undo ? null : true);
  if (undo) {
    part("undo").replaceChildren(html("h2", {}, "Take back the latest change"), html("p", {}, `The latest change is: ${undo.note}. Taken back, the shelf is as it was before it.`),
      changePieces(undo), button(`Take back: ${undo.note}`, () => takeBack(undo.number)));
  }
  set(part("history"), "hidden", history.length ? null : true);
  const heads = ["No", "Day", "What was done", "Off the shelf", "Onto the shelf"];
  part("history").replaceChildren(html("h2", {}, "Latest changes"), html("table", {},
    html("thead", {}, html("tr", {}, ...heads.map((each) => html("th", { scope: "col" }, each)))),
    html("tbody", {}, ...history.map((each) => html("tr", {}, html("th", { scope: "row" }, `${each.number}`),
      ...[each.date, each.undoes ? `${each.note} (takes back ${each.undoes})` : each.note, each.off.join(", "), each.onto.join(", ")]
        .map((cell, at) => html("td", { "data-name": heads[at + 1] }, cell)))))));
}

async function takeBack(number) {
  try {
    const { note, removed, kept } = await api.undoShelf(path, number);
    const also = [removed.length ? `Removed: ${removed.join(", ")}.` : "", kept.length ? `Kept, since they were changed after the booking: ${kept.join(", ")}.` : ""];
    await load();
    set(part("spoken"), "text", [`Taken back: ${note}.`, ...also].filter(Boolean).join(" "));
  } catch (error) {
    await load();
    alarm(error.message);
  }
}

set(part("path"), "text", path);
document.title = `${path} – jobprep`;
listen({
  file: (event) => event.path === path && load(),
  ends: () => alarm("jobprep has ended. What was written is whole."),
});
document.documentElement.dataset.page = "ready";
document.documentElement.dataset.busy = "yes";
load();

/** The page of a run: its sheets, what is cut on each and when, its parts and its files. */
import { api, Away, listen } from "./api.js";
import { createBooking } from "./book.js";
import { button, chip, html, set } from "./elements.js";
import { createRecut } from "./recut.js";
import { createPlayer } from "./player.js";
import { createStage } from "./sheet_stage.js";
import { createStore } from "./state.js";

const part = (id) => document.getElementById(id);
const path = new URLSearchParams(location.search).get("path") ?? "";

/**
 * @typedef {object} State
 * @property {object|null} run      the run as the server gave it
 * @property {object|null} refused  why there is none to show
 * @property {number} sheet         the place of the sheet that is shown, among all of the run
 * @property {number} chosen        the number of the chosen part, 0 for none
 * @property {string} said          the last thing said aloud
 * @property {string} alarm         what stands across the page
 */
const store = createStore(requestAnimationFrame, {
  run: null, refused: null, sheet: 0, chosen: 0, said: "Reading the run …", alarm: "",
});

/** Return the sheets of a run in one row, each with its film. */
const sheetsOf = (run) => run.films.flatMap((film) => film.sheets.map((sheet) => ({ ...sheet, film, name: film.sheets.length > 1 ? `${film.title}, sheet ${sheet.number}` : film.title })));

async function load() {
  try {
    const run = await api.run(path);
    store.change({ run: { ...run, sheets: sheetsOf(run) }, refused: null, said: `${run.title} is shown.` });
  } catch (error) {
    if (error instanceof Away) store.change({ alarm: error.message, said: "" });
    else store.change({ refused: error.answer, alarm: error.message, said: "" });
  }
  document.documentElement.dataset.busy = "no";
}

/** Choose a part, and a sheet that it is on; the part that is chosen already is let go. */
function choose(number, copy = 0) {
  const { run, chosen, sheet } = store.state;
  if (chosen === number && !copy) return store.change({ chosen: 0, said: "No part is chosen." });
  const has = (each) => each.parts.some((one) => one.number === number);
  const at = has(run.sheets[sheet]) ? sheet : Math.max(0, run.sheets.findIndex(has));
  const here = run.sheets[at].parts.filter((one) => one.number === number).length;
  const name = run.parts.find((each) => each.number === number)?.name ?? "";
  store.change({ chosen: number, sheet: at, said: `Part ${number}, ${name}${copy ? `, copy ${copy}` : ""}: ${here} on ${run.sheets[at].name}.` });
}

function changing(view, ...read) {
  let before = null;
  return (state) => {
    const now = read.map((each) => each(state));
    if (!state.run || before?.every((each, at) => each === now[at])) return;
    before = now;
    view(state);
  };
}

const address = (way, fields) => `${way}?${new URLSearchParams(fields)}`;

function showHead({ run }) {
  set(part("name"), "text", run.title);
  set(part("path"), "text", `${run.folder}, for ${run.cutter.title}, by jobprep ${run.version}`);
  document.title = `${run.title} – jobprep`;
  const hasSheet = run.files.some(({ name }) => name === "job-sheet.html");
  part("links").replaceChildren(
    html("a", { href: "/?files" }, "All files of the folder"),
    ...(hasSheet ? [html("a", { href: address("/api/run/sheet", { path: run.path }), target: "_blank", rel: "noopener" }, "Job sheet, to read and print")] : []));
  const { count, cut, time, used, kept } = run.totals;
  const facts = [["Parts", count], ["Cut length", cut], ["Time to cut", time], ["Parts / film used", used], ["Kept as leftovers", kept], ["Sheets", run.sheets.length]];
  part("totals").replaceChildren(...facts.map(([term, value]) => html("div", {}, html("dt", {}, term), html("dd", {}, `${value}`))));
}

const HEADS = ["Sheet", "Stock", "Parts", "Cut length", "Time", "Parts / film used", "Kept"];

function table(heads, rows) {
  const cell = (each, at) => html(at ? "td" : "th", at ? { "data-name": heads[at] } : { scope: "row" }, each);
  return html("table", {}, html("thead", {}, html("tr", {}, ...heads.map((each) => html("th", { scope: "col" }, each)))),
    html("tbody", {}, ...rows.map((row) => html("tr", {}, ...row.map(cell)))));
}

function createTable(id, heads, rows) {
  const body = html("div");
  part(id).append(body);
  return (state) => {
    const focused = document.activeElement?.dataset?.key;
    set(part(id), "hidden", null);
    body.replaceChildren(table(heads, rows(state)));
    if (focused) body.querySelector(`[data-key="${focused}"]`)?.focus();
  };
}

const sheetRows = ({ run, sheet }) => run.sheets.map((each, at) => [
  html("span", {}, chip(each.film.colour), button(each.name, () => store.change({ sheet: at, said: `${each.name} is shown.` }),
    { "data-key": `sheet-${at}`, "aria-pressed": at === sheet ? "true" : "false" })),
  `${each.stock}, ${each.size}`, `${each.count}`, each.cut, each.time, each.used, each.kept,
]);

const partRows = ({ run, chosen }) => run.parts.map((each) => {
  const on = run.sheets.flatMap(({ parts, name }) => {
    const count = parts.filter(({ number }) => number === each.number).length;
    return count ? [`${count} on ${name}`] : [];
  });
  return [
    button(`${each.number}`, () => choose(each.number), { "data-key": `part-${each.number}`, "aria-pressed": each.number === chosen ? "true" : "false", "aria-label": `Show part ${each.number}, ${each.name}` }),
    each.name, `${each.copies}`, on.join("; ") || "on no sheet",
  ];
});

let booking = null;
let spoil = () => {};

function showBooking({ run }) {
  if (run.booked.length) part("book").replaceChildren(html("h2", {}, "Booked as cut"), ...run.booked.map((each) => html("p", {}, `${each}.`)));
  else booking = createBooking(part("book"), run, (isBad) => spoil(isBad));
}

function createStageView() {
  let player = null;
  let stage = null;
  let drawn = null;
  return ({ run, sheet, chosen }) => {
    const shown = run.sheets[sheet];
    set(part("stage"), "hidden", null);
    if (shown !== drawn) {
      player?.stop();
      drawn = shown;
      const { film } = shown;
      const name = `${shown.name}, ${shown.size}, ${shown.count} parts`;
      const names = new Map(run.parts.map((each) => [each.number, each.name]));
      stage = createStage(shown, film.colour, name, (one) => booking?.tick(one) || choose(one.number, one.copy));
      player = createPlayer(shown, stage, names, shown.name);
      part("stage").replaceChildren(html("h2", {}, shown.name), html("figure", {},
        html("figcaption", { class: "note" }, `Cut ${shown.file}, kerf ${film.kerf} mm: ${shown.pierces} pierces, ${shown.travel} of travel. Parts are ${shown.used} of the film used, ${shown.opened} of the sheet opened${shown.leftovers.length ? "; dashed is what is kept" : ""}.`),
        stage.element), player.element);
    }
    stage.mark(chosen);
    spoil = stage.spoil;
    booking?.redraw();
  };
}

function showFiles({ run }) {
  const list = run.files.map(({ name, what, bytes, changed }) => html("li", {},
    html("a", { href: address("/api/run/file", { path: run.path, name }), download: name }, name), " ",
    html("small", {}, `${what}, ${(bytes / 1000).toFixed(1)} kB${changed ? "; changed since the run was written" : ""}`)));
  set(part("files"), "hidden", null);
  part("files").replaceChildren(html("h2", {}, "Files of the run"), html("ul", { class: "files" }, ...list));
}

function showCautions({ run }) {
  set(part("cautions"), "hidden", run.cautions.length ? null : true);
  part("cautions").replaceChildren(html("h2", {}, "Cautions"),
    html("ul", {}, ...run.cautions.map((each) => html("li", {}, each))));
}

const ofRun = ({ run }) => run;
store.show(changing(showHead, ofRun));
store.show(changing(createTable("sheets", HEADS, sheetRows), ofRun, ({ sheet }) => sheet));
store.show(changing(createStageView(), ofRun, ({ sheet }) => sheet, ({ chosen }) => chosen));
store.show(changing(createTable("parts", ["Part", "Name", "Copies", "Where"], partRows), ofRun, ({ chosen }) => chosen));
store.show(changing(showBooking, ofRun));
let recut = null;
store.show(changing(({ run }) => {
  recut = createRecut(part("recut"), run);
}, ofRun));
store.show(changing(showFiles, ofRun));
store.show(changing(showCautions, ofRun));
store.show(({ said, alarm, refused }) => {
  set(part("spoken"), "text", said);
  part("notices").replaceChildren(...(alarm ? [html("p", { class: "notice" }, alarm)] : []));
  const found = refused?.findings ?? [];
  set(part("findings"), "hidden", found.length ? null : true);
  part("findings").replaceChildren(html("h2", {}, "What is wrong"), html("ul", {}, ...found.map(({ at, line, message }) => html("li", {}, [line, at].filter(Boolean).join(":"), line || at ? ": " : "", message))));
});

const AWAY = "jobprep does not answer. What was written is whole.";
listen({
  work: (event) => recut?.hear(event),
  lost: () => store.change({ alarm: store.state.alarm || AWAY }),
  found: () => store.state.alarm === AWAY && store.change({ alarm: "" }),
  ends: () => store.change({ alarm: "jobprep has ended. What was written is whole." }),
});
document.documentElement.dataset.page = "ready";
document.documentElement.dataset.busy = "yes";
load();

/** The page of a job: its nest as it is found, stopped when it is good enough, and its run. */
import { api, Away, listen } from "./api.js";
import { button, html, set, svg } from "./elements.js";
import { outline } from "./job_form.js";
import { openDesk } from "./job_desk.js";
import { createStore } from "./state.js";

const part = (id) => document.getElementById(id);
const path = new URLSearchParams(location.search).get("path") ?? "";

/**
 * @typedef {object} State
 * @property {string|null} id     the search that goes on or ended last
 * @property {string} state       "", "reading", "searching", "better", "done", "refused", "failed"
 * @property {object[]} films     the films of the job
 * @property {object[]} parts     its parts, each with its outline
 * @property {object} nests       the best nest of each film so far
 * @property {object|null} done   the plan
 * @property {object|null} refused why there is none
 * @property {number} chosen      the number of the chosen part, 0 for none
 * @property {string} alarm       what stands across the page
 * @property {object|null} digests those of the files that the search or plan was read from
 */
const store = createStore(requestAnimationFrame, {
  id: null, state: "", films: [], parts: [], nests: {}, done: null, refused: null, chosen: 0, alarm: "", digests: null,
});

const isGoing = ({ state }) => ["starting", "reading", "searching", "better"].includes(state);

async function start(write) {
  store.change({ id: null, state: "starting", nests: {}, done: null, refused: null, alarm: "" });
  try {
    const { id } = await api.plan(path, write);
    store.change({ id });
    // What was said before the id was known.
    const { said } = await api.work(id);
    for (const state of ["reading", "searching", "better", "done", "refused", "failed"]) if (said[state]) hear({ id, ...said[state] });
  } catch (error) {
    store.change({ state: "", alarm: error instanceof Away ? "jobprep does not answer." : error.message });
  }
}

/** Take in what the search reports of itself. */
function hear(event) {
  if (event.id !== store.state.id || store.state.done) return;
  const now = { state: event.state };
  if (event.state === "searching") Object.assign(now, { films: event.films, parts: event.parts, digests: event.digests });
  if (event.state === "better") now.nests = { ...store.state.nests, [event.film]: event };
  if (event.state === "done") now.done = event;
  if (event.state === "refused") now.refused = event;
  if (event.state === "failed") now.alarm = "The search ended without a word; the terminal shows why.";
  store.change(now);
}

const share = (value) => `${(100 * value).toFixed(1)} %`;
const minutes = (seconds) => `${Math.floor(seconds / 60)}:${String(Math.round(seconds % 60)).padStart(2, "0")}`;
const sheets = (count) => `${count} ${count === 1 ? "sheet" : "sheets"}`;

function words({ state, done, nests, refused, films }) {
  if (done) {
    const written = done.written ? ` The run is in ${done.written}, as the command writes it.` : "";
    return `${done.stopped ? "Stopped with the best nest so far: " : "Planned: "}${sheets(done.sheets)}, parts / film used ${share(done.utilisation)}, ${minutes(done.seconds)} to cut.${written}`;
  }
  if (refused) return refused.message;
  if (state === "starting" || state === "reading") return "Reading the job …";
  if (isGoing({ state })) {
    const found = films.filter(({ name }) => nests[name]).map(({ name, title }) => `${title}: ${sheets(nests[name].sheets)}, ${share(nests[name].utilisation)}`);
    return `Searching. ${found.join("; ")}`;
  }
  return "Nothing is planned yet.";
}

function createHeader() {
  const plan = button("Plan", () => start(false));
  const write = button("Plan and write the run", () => start(true));
  const stop = button("Stop with the best so far", () => api.stop(store.state.id).catch(() => {}));
  const written = html("a", { hidden: true }, "Look at the run");
  part("tools").append(plan, write, stop, written);
  set(part("name"), "text", path.split("/").at(-1));
  set(part("path"), "text", path);
  document.title = `${path} – jobprep`;
  return (state) => {
    const goes = isGoing(state);
    set(plan, "disabled", goes);
    set(write, "disabled", goes);
    set(stop, "disabled", !goes || !state.id);
    set(written, "hidden", !state.done?.written);
    set(written, "href", `/run?path=${encodeURIComponent([...path.split("/").slice(0, -1), state.done?.written].join("/"))}`);
    set(part("spoken"), "text", words(state));
    part("notices").replaceChildren(...(state.alarm ? [html("p", { class: "notice" }, state.alarm)] : []));
    document.documentElement.dataset.busy = goes ? "yes" : "no";
  };
}

/** Return a sheet as a picture; outlines have y downwards, places have it upwards. */
function picture(sheet, shapes, name) {
  return html("figure", {}, svg("svg", { viewBox: `-2 ${-sheet.height - 2} ${sheet.width + 4} ${sheet.height + 4}`, role: "img", "aria-label": name },
    svg("path", { d: sheet.outline, class: "sheet" }), ...shapes), html("figcaption", { class: "note" }, name));
}

function createSheets() {
  const body = html("div", { class: "nest" });
  part("sheets").append(body);
  let before = null;
  return (state) => {
    const { nests, done, films, parts, chosen } = state;
    const now = [nests, done, chosen];
    if (before?.every((each, at) => each === now[at])) return;
    before = now;
    const colours = new Map(films.map((film) => [film.name, film.colour]));
    const outlines = new Map(parts.map((each) => [each.number, each]));
    const kind = (number) => (number === chosen ? "part chosen" : "part");
    const made = films.flatMap((film) => {
      const drawn = (done?.films.find((each) => each.film === film.name)?.sheets ?? []).map((sheet, at) => picture(sheet,
        [...sheet.parts.map((each) => svg("path", { d: each.d, class: kind(each.number), fill: colours.get(film.name) })),
          ...sheet.leftovers.map((d) => svg("path", { d, class: "kept" }))],
        `${film.title}, sheet ${at + 1}: ${sheet.parts.length} parts${sheet.leftovers.length ? ", dashed what is kept" : ""}`));
      const found = done ? [] : (nests[film.name]?.placements ?? []).map((sheet, at) => picture(sheet,
        sheet.parts.map(([number, , degrees, x, y]) => svg("path", {
          d: outlines.get(number)?.d ?? "", class: kind(number), fill: colours.get(film.name),
          transform: `translate(${x} ${-y}) rotate(${-degrees})`,
        })), `${film.title}, sheet ${at + 1}: ${sheet.parts.length} parts so far`));
      return [...drawn, ...found];
    });
    set(part("sheets"), "hidden", made.length ? null : true);
    body.replaceChildren(...made);
  };
}

function createParts() {
  const body = html("div");
  part("parts").append(body);
  let before = null;
  return ({ parts, films, chosen }) => {
    const now = [parts, chosen];
    if (before?.every((each, at) => each === now[at])) return;
    before = now;
    set(part("parts"), "hidden", parts.length ? null : true);
    const titles = new Map(films.map((film) => [film.name, film.title]));
    body.replaceChildren(html("table", {}, html("thead", {}, html("tr", {}, ...["Part", "Name", "Film", "Copies"].map((each) => html("th", { scope: "col" }, each)))),
      html("tbody", {}, ...parts.map((each) => html("tr", {}, html("th", { scope: "row" },
        button(`${each.number}`, () => store.change({ chosen: chosen === each.number ? 0 : each.number }), { "aria-pressed": chosen === each.number ? "true" : "false", "aria-label": `Show part ${each.number}, ${each.name}` })),
      html("td", {}, outline(each, `Outline of part ${each.number}`), " ", each.name), html("td", {}, titles.get(each.film) ?? each.film), html("td", {}, `${each.copies}`))))));
  };
}

function createList(id, read) {
  const list = html("ul");
  part(id).append(list);
  let before = null;
  return (state) => {
    const found = read(state);
    if (found === before) return;
    before = found;
    set(part(id), "hidden", found?.length ? null : true);
    list.replaceChildren(...(found ?? []).map((each) => html("li", {}, each)));
  };
}

const said = new Map();
const refusals = ({ refused }) => {
  if (!refused) return null;
  if (!said.has(refused)) said.set(refused, refused.findings.map((each) => [each.file, each.line, each.at].filter(Boolean).join(":") + (each.file || each.at ? ": " : "") + each.message));
  return said.get(refused);
};

store.show(createHeader());
store.show(createSheets());
store.show(createParts());
store.show(createList("findings", refusals));
store.show(createList("cautions", ({ done }) => done?.cautions ?? null));

const desk = await openDesk(part, path, store);
listen({
  ...desk,
  work: hear,
  ends: () => store.change({ alarm: "jobprep has ended, and the search with it. What was written is whole." }),
});
document.documentElement.dataset.page = "ready";

/** What a job would take and cost, worked out at once after a change, and marked as rough. */
import { html, set, svg } from "./elements.js";
import { Away, Refused } from "./api.js";

/** Return the path from the opened folder of a file named from a job's folder. */
export function fromRoot(job, name) {
  const steps = job.split("/").slice(0, -1);
  for (const step of name.split("/")) {
    if (step === "..") steps.pop();
    else steps.push(step);
  }
  return steps.join("/");
}

/** Return those of a job's files that are others now than when it was read. */
export function changedSince(opened, digests) {
  const read = new Map(Object.entries(digests ?? {}).map(([name, digest]) => [fromRoot(opened.path, name), digest]));
  const now = Object.entries({ [opened.path]: opened.digest, ...opened.designs });
  return now.filter(([path, digest]) => read.get(path) !== digest).map(([path]) => path);
}

/** Keep the rough plan that of the files: the newest only, one request at a time. */
export function followRough(store, api) {
  let isAsking = false;
  let asked = "";

  async function ask() {
    const { opened, sending, server } = store.state;
    if (!opened?.values || sending.length || server !== "here") return;
    const key = JSON.stringify([opened.digest, opened.designs]);
    if (isAsking || key === asked) return;
    isAsking = true;
    asked = key;
    store.change({ asking: true });
    try {
      store.change({ facts: await api.rough(opened.path) });
    } catch (error) {
      if (!(error instanceof Away || error instanceof Refused)) throw error;
      // Another page's question took the place of this one: ask again.
      if (error.status === 409) asked = "";
      else if (error instanceof Refused) store.change({ facts: { prices: [], each: [], nests: [], films: [], parts: [], digests: {}, findings: [], remark: error.message } });
    }
    isAsking = false;
    store.change({ asking: false });
    ask();
  }

  store.watch((state, before) => {
    if (["opened", "sending", "server"].some((key) => state[key] !== before[key])) ask();
  });
}

const minutes = (seconds) => `${Math.floor(seconds / 60)} min ${String(Math.round(seconds % 60)).padStart(2, "0")} s`;

/** Return a view of sheets and prices in a section: rough, or those of a plan of the same files. */
export function createRough(section, works) {
  const said = html("p", { class: "note", role: "status" });
  const list = html("dl", { class: "facts" });
  const nest = html("div", { class: "rough-nest" });
  const fold = html("details", { class: "fold", open: true }, html("summary", {}, html("h3", {}, "Rough nest")), nest);
  const link = html("p", {}, html("a", { href: "#to-correct" }, "What is to correct"));
  section.append(said, link, list, fold);
  let before = null;
  let written = null;

  return ({ opened, facts: rough, asking, sending }) => {
    set(section, "hidden", opened?.values ? null : true);
    if (!opened?.values) return;
    const { nests, done, digests } = works.state;
    set(link, "hidden", rough && !rough.prices.length && !rough.remark && !asking ? null : true);
    const isOfNow = digests !== null && changedSince(opened, digests).length === 0;
    const facts = isOfNow && done ? done : rough;
    // What a search has found takes the place of the rough nest.
    set(fold, "hidden", rough?.nests.length && !(isOfNow && Object.keys(nests).length) ? null : true);
    if (facts === done && done) {
      set(said, "text", "Of the plan.");
      set(section, "data-old", null);
      write(facts, "");
      return;
    }
    const isOld = facts !== null && facts.prices.length > 0 && changedSince(opened, facts.digests).length > 0;
    const isComing = asking || sending.length > 0;
    set(said, "text", status(facts, isOld, isComing));
    set(section, "data-old", isOld ? "yes" : null);
    if (facts !== before) draw(facts);
    write(facts, "without a search for shorter ways");
  };

  function draw(facts) {
    const films = new Map(facts?.films.map((each) => [each.name, each]));
    nest.replaceChildren(...(facts?.nests ?? []).flatMap(({ film, sheets }) => sheets.map((sheet, at) => picture(sheet, films.get(film), at + 1))));
    before = facts;
  }

  function write(facts, also) {
    if (facts === written) return;
    written = facts;
    const rows = facts ? [...facts.prices.map(({ name, amount, notes }) => [name[0].toUpperCase() + name.slice(1), amount, notes]),
      ...facts.each.map(({ design, copies, amount }) => [`One ${design}`, amount, `used, of ${copies}`]),
      ...(facts.seconds ? [["To cut", minutes(facts.seconds), also]] : [])] : [];
    list.replaceChildren(...rows.map(([name, value, notes]) => html("div", {}, html("dt", {}, name), html("dd", {}, value, notes ? html("small", {}, notes) : null))));
  }
}

function status(facts, isOld, isComing) {
  if (isOld) return `These are of the files before the last change; those of now ${isComing ? "are being worked out …" : "cannot be worked out."}`;
  if (isComing && !facts?.prices.length) return "Being worked out …";
  if (facts?.remark) return facts.remark;
  if (facts && !facts.prices.length) return "Nothing can be said while the job cannot be planned.";
  return "Rough: the sheets are filled once, without a search. This is not the plan, which may use less film.";
}

function picture(sheet, film, number) {
  const name = `${film.title}, sheet ${number}, rough: ${sheet.parts.length} ${sheet.parts.length === 1 ? "part" : "parts"}`;
  return html("figure", {}, svg("svg", { viewBox: `-2 ${-sheet.height - 2} ${sheet.width + 4} ${sheet.height + 4}`, role: "img", "aria-label": name },
    svg("path", { d: sheet.outline, class: "sheet" }), ...sheet.parts.map(({ d }) => svg("path", { d, class: "part", fill: film.colour }))),
  html("figcaption", { class: "note" }, name));
}

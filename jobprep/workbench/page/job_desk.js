/** The job's file on its page: read, changed, undone, and what it would cost, roughly. */
import { api } from "./api.js";
import { createChanges } from "./changes.js";
import { button, set } from "./elements.js";
import { createFindings } from "./findings.js";
import { createForm } from "./job_form.js";
import { changedSince, createRough, followRough } from "./job_rough.js";
import { createNotices } from "./notices.js";
import { createSource } from "./source.js";
import { createStore, FIRST } from "./state.js";

/**
 * Show the job's file in the page's parts; ``works`` is the store of its search and plan.
 *
 * @returns the handlers of what the server reports of files
 */
export async function openDesk(part, path, works) {
  const store = createStore(requestAnimationFrame, Object.freeze({ ...FIRST, form: null }));
  const changes = createChanges(store, { ...api, design: api.job, edit: api.editJob, undo: api.undoJob, redo: api.redoJob });
  const views = [
    createHeader(part, store, changes),
    createNotices(part("file-notices"), part("said"), changes),
    createRough(part("rough"), works),
    createForm(part("form"), store, changes),
    createSource(part("source")),
    createFindings(part("to-correct")),
    mistakesFirst(part("to-correct"), part("form"), part("source")),
    createStale(part("stale"), works),
  ];
  for (const draw of views) store.show(draw);
  works.show(() => store.change({}));
  followRough(store, api);
  store.watch(({ facts, opened }, before) => {
    if (facts === before.facts && opened === before.opened) return;
    if (facts?.parts.length && !works.state.state) works.change({ parts: facts.parts, films: facts.films });
  });
  addEventListener("keydown", (event) => undoByKey(event, changes));
  const [{ fields }] = await Promise.all([api.jobForm().catch(() => ({ fields: null })), changes.open(path)]);
  store.change({ form: fields });
  return {
    file(event) {
      const { opened } = store.state;
      const isDesign = opened && event.path in opened.designs && opened.designs[event.path] !== event.digest;
      return isDesign ? changes.open(path) : changes.outside(event);
    },
    lost: () => store.state.server === "here" && store.change({ server: "away", alarm: "jobprep does not answer. What was saved is in the file." }),
    found: () => store.state.server !== "here" && changes.again(),
  };
}

function createHeader(part, store, changes) {
  const undo = button("Undo", () => changes.step("undo"), { "aria-keyshortcuts": "Control+Z" });
  const redo = button("Redo", () => changes.step("redo"), { "aria-keyshortcuts": "Control+Shift+Z" });
  part("file-tools").append(undo, redo);
  return ({ opened, sending, asking, server }) => {
    if (opened?.values?.title) set(part("name"), "text", `${opened.values.title}`);
    set(undo, "disabled", !opened?.undo);
    set(redo, "disabled", !opened?.redo);
    document.documentElement.dataset.file = server === "here" && (sending.length || asking) ? "busy" : "still";
  };
}

/** Put mistakes before the form, and cautions, which stop nothing, after it. */
function mistakesFirst(section, form, source) {
  return () => {
    const next = section.querySelector(".error") ? form : source;
    if (section.nextElementSibling !== next) next.before(section);
  };
}

/** Say that a search or a plan is of the files as they were. */
function createStale(element, works) {
  return ({ opened }) => {
    const { digests, done } = works.state;
    const changed = opened && digests ? changedSince(opened, digests) : [];
    set(element, "hidden", changed.length ? null : true);
    if (!changed.length) return;
    const what = done ? "This plan is" : "The search that goes on is";
    set(element, "text", `${what} of the files as they were before a change of ${changed.join(" and ")}. Plan again for the job as it is now.`);
  };
}

/** Undo and redo by key, but not the text of a field that is being typed in. */
function undoByKey(event, changes) {
  if (!(event.ctrlKey || event.metaKey) || event.altKey || event.target instanceof HTMLInputElement) return;
  const key = event.key.toLowerCase();
  const way = key === "y" || (key === "z" && event.shiftKey) ? "redo" : key === "z" ? "undo" : null;
  if (!way) return;
  event.preventDefault();
  changes.step(way);
}

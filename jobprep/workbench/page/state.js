/**
 * The one state of the page. It is never changed in place: a change gives a new one, and every
 * view draws from it once before the next picture.
 *
 * @typedef {object} State
 * @property {{folder: string, files: object[], open: string|null}|null} folder
 * @property {object[]} films      films at hand beside the open file
 * @property {object|null} opened  the open file as the server last gave it
 * @property {object[]} sending    edits on their way to the file
 * @property {object[]} trial      edits of the pointer or of a field, not let go yet
 * @property {object|null} facts   the newest facts that arrived
 * @property {boolean} asking      whether newer facts are on their way
 * @property {number} layer        the chosen layer, counted from 1
 * @property {string|null} picked  the chosen thing: the id of a movable, or "sector-2"
 * @property {"one"|"stacked"|"apart"} look
 * @property {boolean} snaps
 * @property {object|null} refused the edits that were refused, and why
 * @property {object|null} conflict the edits that met a file changed outside
 * @property {"here"|"away"|"ended"} server
 * @property {object[]} unsaved    edits that no server took
 * @property {string} said         the last thing said aloud
 * @property {string} alarm        what stands across the page until it is over
 */
import { withEdits } from "./disc.js";

/** @type {State} */
export const FIRST = Object.freeze({
  folder: null,
  films: [],
  opened: null,
  sending: [],
  trial: [],
  facts: null,
  asking: false,
  layer: 1,
  picked: null,
  look: "stacked",
  snaps: true,
  refused: null,
  conflict: null,
  server: "here",
  unsaved: [],
  said: "",
  alarm: "",
});

/** Return a store: ``change`` gives a new state, ``show`` adds a view that draws from it. */
export function createStore(schedule = requestAnimationFrame, first = FIRST) {
  let state = first;
  let isWaiting = false;
  const views = [];
  const watchers = [];

  function drawAll() {
    isWaiting = false;
    for (const draw of views) draw(state);
  }

  return {
    get state() {
      return state;
    },
    change(patch) {
      const before = state;
      state = Object.freeze({ ...state, ...patch });
      for (const watch of watchers) watch(state, before);
      if (!isWaiting) schedule(drawAll);
      isWaiting = true;
    },
    show: (draw) => views.push(draw),
    watch: (watcher) => watchers.push(watcher),
  };
}

/** Return a function that works out its answer again only when what it is given has changed. */
export function remembered(work) {
  let before = null;
  let answer;
  return (...given) => {
    const isSame = before?.length === given.length && given.every((each, at) => each === before[at]);
    if (!isSame) {
      answer = work(...given);
      before = given;
    }
    return answer;
  };
}

const discOf = remembered((disc, sending, trial) => withEdits(disc, [...sending, ...trial]));

/** Return the disc to show: the file's, with all that is not saved yet; null if there is none. */
export function shownDisc({ opened, sending, trial }) {
  return opened?.disc ? discOf(opened.disc, sending, trial) : null;
}

/** Return the chosen layer of the disc that is shown. @param {State} state */
export function shownLayer(state) {
  return shownDisc(state)?.layers.find((layer) => layer.index === state.layer) ?? null;
}

/** Return all that is known to be wrong or to heed, errors first. @param {State} state */
export const findings = remembered((opened, facts, refused) => {
  const newest = facts?.findings ?? opened?.findings ?? [];
  const all = [...(refused?.findings ?? []), ...newest];
  const errors = all.filter((each) => each.severity === "error");
  return [...errors, ...all.filter((each) => each.severity !== "error")];
});

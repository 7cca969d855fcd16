/** The page of a photograph: what was found lies over it, and each correction goes into its file. */
import { api, Away, listen } from "./api.js";
import { createCompare } from "./compare.js";
import { doubtsOf, thingOf } from "./doubts.js";
import { button, html, set } from "./elements.js";
import { createPanels } from "./found_panels.js";
import { createPicture } from "./found_picture.js";
import { pairOf, showPair } from "./pair.js";
import { createStore } from "./state.js";
import { createWalk } from "./walk.js";

const part = (id) => document.getElementById(id);
const pair = pairOf(location.search);
const path = pair.isSecond ? pair.other : pair.path;
/** What each question names: the picture that is shown, and the first where it is the second. */
const which = pair.isSecond ? { path, first: pair.path } : { path };

/**
 * @typedef {object} State
 * @property {object|null} shown   the photograph as the server last measured it
 * @property {boolean} busy        whether an answer is on its way
 * @property {string} alarm        what stands across the page
 * @property {string} said         the last thing said aloud
 * @property {string|null} picked  the chosen thing: "edge-2", "hole-1", "zone-1-3"
 * @property {string|null} taking  what is being given by points: "rim", "bore", "white", "hole", "edge"
 * @property {number[][]} points   the points given so far
 * @property {string|null} doubt   the key of the doubt that is asked about
 * @property {object|null} compared how the picture compares as that of a copy; gone with each correction
 * @property {string[]} looked     keys of doubts that a person has looked at and left as they are
 */
const store = createStore(requestAnimationFrame, {
  shown: null, busy: true, alarm: "", said: "", picked: null, taking: null, points: [], doubt: null, looked: [], compared: null,
});

/** Ask the server; the answer is what is shown from then on. */
async function answered(question, said) {
  store.change({ busy: true });
  try {
    const shown = await question;
    store.change({ shown, busy: false, alarm: "", said, compared: null });
    return true;
  } catch (error) {
    const shown = error.answer?.opened ?? store.state.shown;
    const alarm = error instanceof Away ? "jobprep does not answer. What was given is in the file." : error.message;
    store.change({ shown, busy: false, alarm });
    return false;
  }
}

const actions = {
  again: () => answered(api.photo(which), ""),
  /** Write corrections, and measure again. */
  correct: (edits, said) => answered(api.correct(which, store.state.shown.corrections.digest, edits), said),
  step: (way) => answered(api.stepPhoto(way, which, store.state.shown.corrections.digest), way === "undo" ? "Undone." : "Done again."),
  pick(picked) {
    const asked = doubtsOf(store.state.shown).find((each) => each.key === store.state.doubt);
    store.change({ picked, taking: null, points: [], doubt: picked && picked === thingOf(asked) ? store.state.doubt : null });
  },
  leave: (key) => store.change({ looked: [...store.state.looked, key], picked: null }),
  take: (taking) => store.change({ taking, points: [], picked: null }),
  point: (place) => store.change({ points: [...store.state.points, place] }),
  /** Hold the picture against a design. */
  async compare(design) {
    store.change({ busy: true });
    try {
      const { compared } = await api.compare(path, design);
      store.change({ compared, busy: false, alarm: "", picked: null, doubt: null });
      part("picture").lookAt(null);
    } catch (error) {
      store.change({ alarm: error.message, busy: false, compared: null });
    }
  },
  uncompare: () => store.change({ compared: null }),
  designName: pair.path.replace(/\.[^.]*$/, ".toml"),
  /** Write the design, of both pictures where there are two; it opens on its own page. */
  async design(wanted) {
    try {
      const joined = pair.other ? { other: pair.other, is_back: pair.isBack } : {};
      const made = await api.photoDesign({ path: pair.path, ...joined, ...wanted });
      location.assign(`/?path=${encodeURIComponent(made.path)}`);
    } catch (error) {
      store.change({ alarm: error.message });
    }
  },
};

function createHeader() {
  const undo = button("Undo", () => actions.step("undo"), { "aria-keyshortcuts": "Control+Z" });
  const redo = button("Redo", () => actions.step("redo"), { "aria-keyshortcuts": "Control+Shift+Z" });
  const busy = html("small", { role: "status" });
  part("tools").append(undo, redo, busy);
  return ({ shown, busy: isBusy, alarm, said }) => {
    set(part("name"), "text", path.split("/").at(-1));
    document.title = `${path} – jobprep`;
    const file = shown?.corrections;
    set(part("path"), "text", file ? `Corrections: ${file.path}${file.digest ? "" : " (begins with the first one)"}` : path);
    set(undo, "disabled", isBusy || !file?.undo);
    set(redo, "disabled", isBusy || !file?.redo);
    set(busy, "text", isBusy ? "Measuring …" : "");
    const words = [alarm, shown?.message].filter(Boolean);
    part("notices").replaceChildren(...words.map((each) => html("p", { class: "notice" }, each)));
    set(part("spoken"), "text", said);
    document.documentElement.dataset.busy = isBusy ? "yes" : "no";
  };
}

store.show(createHeader());
store.show(createPicture(part("picture"), part("view"), store, actions, path));
const walk = createWalk(part("walk"), store, actions, part("picture").lookAt);
store.show(walk.draw);
for (const draw of createPanels(part, store, actions, walk.face)) store.show(draw);

addEventListener("keydown", (event) => {
  if (event.key === "Escape") actions.pick(null);
  if (!(event.ctrlKey || event.metaKey) || event.altKey || event.target instanceof HTMLInputElement) return;
  const key = event.key.toLowerCase();
  const way = key === "y" || (key === "z" && event.shiftKey) ? "redo" : key === "z" ? "undo" : null;
  if (!way) return;
  event.preventDefault();
  actions.step(way);
});

/** Show what needs other files of the folder: a second picture, the designs of copies. */
function showFiles(files) {
  showPair(part("pictures"), pair, files);
  const designs = files.filter(({ kind }) => kind === "design").map((each) => each.path);
  const look = (at) => part("picture").lookAt(at, store.state.shown.found.radius);
  store.show(createCompare(part("compare"), designs, actions, look));
}

listen({
  file: (event) => {
    const file = store.state.shown?.corrections;
    if (event.path === file?.path && event.digest !== file.digest && !store.state.busy) actions.again();
  },
  ends: () => store.change({ alarm: "jobprep has ended. What was given is in the file." }),
});

const files = api.folder().then((found) => found.files, () => []);
await Promise.all([actions.again(), files.then((each) => showFiles(each))]);
document.documentElement.dataset.page = "ready";

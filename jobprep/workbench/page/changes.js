/**
 * What a reader does, as changes of the state and requests: try, keep, drop, undo, open.
 *
 * Edits go to the file one after the other, each with the digest of the file it was made for, so
 * that a file changed outside is never overwritten.
 */
import { becomesDegrees } from "./disc.js";
import { Away, Refused } from "./api.js";

export const NEVER_LOST =
  "What was saved is in the file; nothing of it is lost. Start jobprep again, and open the address that it prints.";

/** @returns all that a reader can do to the open file */
export function createChanges(store, api) {
  let tail = Promise.resolve();
  const { change } = store;
  const inTurn = (work) => (tail = tail.then(work));

  async function open(path) {
    try {
      const [opened, { films }] = await Promise.all([api.design(path), api.films(path)]);
      const { layer } = store.state;
      const same = store.state.opened?.path === path;
      change({
        opened,
        films,
        facts: same ? store.state.facts : null,
        layer: same && opened.disc?.layers[layer - 1] ? layer : firstLayer(opened.disc),
        ...(same ? {} : { picked: null, trial: [], sending: [], refused: null, conflict: null }),
        alarm: "",
        server: "here",
      });
    } catch (error) {
      failed(error, []);
    }
  }

  /** Show edits without saving them, while a pointer moves or a field is typed in. */
  function attempt(edits) {
    change({ trial: edits, refused: null });
  }

  /** Take back what was shown but not saved. */
  function drop() {
    change({ trial: [], refused: null });
  }

  /** Save edits; ``words`` are said when they are. */
  function keep(edits, words) {
    change({ sending: [...store.state.sending, ...edits], trial: [], refused: null });
    return inTurn(() => send(edits, words));
  }

  async function send(edits, words) {
    const { opened, server } = store.state;
    if (server !== "here") return failed(new Away(), edits);
    const degrees = opened.disc ? becomesDegrees(opened.disc, edits) : "";
    try {
      const saved = await api.edit(opened.path, opened.digest, edits);
      settle(edits, { opened: saved });
      const also = degrees && `: ${degrees}`;
      change({ said: `Saved: ${words}${also}.` });
    } catch (error) {
      failed(error, edits, words);
    }
  }

  /** Take edits from those on their way. */
  function settle(edits, patch) {
    const sending = store.state.sending.filter((each) => !edits.includes(each));
    const { layer } = store.state;
    const disc = (patch.opened ?? store.state.opened)?.disc;
    const there = !disc || disc.layers.some((each) => each.index === layer);
    change({ sending, layer: there ? layer : firstLayer(disc), ...patch });
  }

  function failed(error, edits, words = "") {
    if (error instanceof Away) {
      const unsaved = [...store.state.unsaved, ...edits];
      const waiting = unsaved.length ? " Your last change is kept on this page, not in the file." : "";
      change({
        server: store.state.server === "ended" ? "ended" : "away",
        unsaved,
        alarm: `jobprep does not answer. ${NEVER_LOST}${waiting}`,
      });
    } else if (error instanceof Refused && error.status === 409 && error.answer.opened) {
      settle(edits, { opened: error.answer.opened, conflict: { edits, words } });
    } else if (error instanceof Refused && [401, 403].includes(error.status)) {
      const earlier = "This page belongs to an earlier start of jobprep.";
      change({ alarm: `${earlier} ${NEVER_LOST}`, server: "ended" });
    } else if (error instanceof Refused) {
      const found = error.answer.findings ?? [];
      const at = found.length ? found : [{ severity: "error", at: "", line: null, message: error.message }];
      settle(edits, { refused: { edits, findings: at } });
      change({ said: `Not saved: ${at[0].message}` });
    } else throw error;
  }

  /** Take one step back or forward in the file. @param {"undo"|"redo"} way */
  function step(way) {
    return inTurn(async () => {
      const { opened } = store.state;
      if (!opened?.[way]) return;
      try {
        const found = await api[way](opened.path, opened.digest);
        settle([], { opened: found, refused: null });
        change({ said: way === "undo" ? "The last change is undone." : "The change is made again." });
      } catch (error) {
        failed(error, []);
      }
    });
  }

  /** A file changed: take it in if it is the open one and the change is not our own. */
  function outside({ path, digest }) {
    return inTurn(async () => {
      const { opened } = store.state;
      if (!opened || path !== opened.path || digest === opened.digest) return;
      if (digest === null) {
        change({ alarm: "The file is no longer there. The page shows it as it was last read." });
        return;
      }
      await open(path);
      if (store.state.opened.digest !== opened.digest) {
        change({ said: "The file was changed outside this page. The page shows it as it is now." });
      }
    });
  }

  /** Films or lamps changed: take them in, and with them the facts. */
  async function materials() {
    const { opened } = store.state;
    if (!opened) return;
    try {
      const { films } = await api.films(opened.path);
      change({ films });
    } catch (error) {
      failed(error, []);
    }
  }

  /** Answer a conflict: make the change again on the file as it is now, or leave it. */
  function resolve(isMadeAgain) {
    const { conflict } = store.state;
    change({ conflict: null });
    if (conflict && isMadeAgain) keep(conflict.edits, conflict.words);
  }

  /** Ask the server again, and save what it did not take. */
  async function again() {
    const { opened, unsaved } = store.state;
    try {
      const now = opened ? await api.design(opened.path) : null;
      change({ server: "here", alarm: "", unsaved: [] });
      await files();
      if (!opened) return;
      const sending = store.state.sending.filter((each) => !unsaved.includes(each));
      if (now.digest === opened.digest) {
        change({ sending });
        if (unsaved.length) keep(unsaved, "what the page had kept");
      } else {
        const conflict = unsaved.length ? { edits: unsaved, words: "what the page had kept" } : null;
        change({ opened: now, sending, conflict });
      }
    } catch (error) {
      failed(error, []);
    }
  }

  async function files() {
    try {
      change({ folder: await api.folder() });
    } catch (error) {
      failed(error, []);
    }
  }

  /** Write a new design and open it. Return whether it could be. */
  async function create(design) {
    try {
      const made = await api.create(design);
      change({ refused: null });
      await Promise.all([files(), open(made.path)]);
      change({ said: `${made.path} is written.` });
      return true;
    } catch (error) {
      failed(error, []);
      return false;
    }
  }

  return { open, attempt, keep, drop, step, outside, materials, resolve, again, files, create };
}

function firstLayer(disc) {
  const sectors = disc?.layers.find((layer) => layer.sectors.length > 1);
  return (sectors ?? disc?.layers[0])?.index ?? 1;
}

/** Keep the facts those of what is shown: the newest only, one request at a time. */
export function followFacts(store, api) {
  let isAsking = false;
  let asked = "";
  let of = null;

  async function ask() {
    const { opened, films, sending, trial, server } = store.state;
    if (!opened || server !== "here") return;
    const edits = [...sending, ...trial];
    const key = JSON.stringify([opened.path, opened.digest, edits]);
    if (isAsking || (key === asked && films === of)) return;
    isAsking = true;
    asked = key;
    of = films;
    store.change({ asking: true });
    try {
      const facts = await api.facts(opened.path, opened.digest, edits);
      if (store.state.opened?.path === opened.path) store.change({ facts });
    } catch (error) {
      // The edit itself will say what is wrong. Another tab's question may have taken this one's
      // place; then it is asked again, but not for a file that has changed: that is reported.
      if (!(error instanceof Away || error instanceof Refused)) throw error;
      if (error.status === 409 && !error.answer.opened) asked = "";
    }
    isAsking = false;
    store.change({ asking: false });
    ask();
  }

  store.watch((state, before) => {
    const isNew = ["opened", "films", "sending", "trial", "server"].some((key) => state[key] !== before[key]);
    if (isNew) ask();
  });
}

/** The walk from doubt to doubt: what is in question, what can be done, how many are left. */
import { adviceOf, doubtsOf, leftInWords, nextDoubt, thingOf, waysOf } from "./doubts.js";
import { button, html, set } from "./elements.js";

/** Return the view of a section that shows one doubt at a time; ``lookAt`` turns the picture to it. */
export function createWalk(section, store, actions, lookAt) {
  const next = button("Next doubt", step, { "aria-keyshortcuts": "Alt+N" });
  const left = html("p", { class: "left", role: "status" });
  const body = html("div");
  section.append(html("div", { class: "row" }, next, left), body);
  let place = 0;
  let before = null;

  function step() {
    const { shown, looked } = store.state;
    const found = nextDoubt(doubtsOf(shown), looked, place);
    if (found) face(found);
    else store.change({ doubt: null, picked: null, said: leftInWords(shown, looked) });
  }

  /** Show a doubt, and where it lies. */
  function face(doubt) {
    const { found } = store.state.shown;
    store.change({ doubt: doubt.key, picked: thingOf(doubt), taking: null, points: [] });
    const hole = doubt.about === "mark" && found.holes[doubt.number];
    lookAt(doubt.at, hole ? Math.max(60, 10 * hole.width) : found.radius);
    requestAnimationFrame(() => {
      section.scrollIntoView({ block: "nearest" });
      body.querySelector("h2")?.focus({ preventScroll: true });
    });
  }

  function act(way) {
    if (way.take) actions.take(way.take);
    else if (way.field) document.getElementById(way.field)?.focus();
    else actions.correct(way.edits(), `${way.words}: written down.`);
  }

  function question(doubt, shown, doubts) {
    const leave = () => { actions.leave(doubt.key); next.focus(); };
    return [html("h2", { tabindex: -1 }, `Doubt ${doubts.indexOf(doubt) + 1} of ${doubts.length}`),
      html("p", {}, doubt.words), html("p", { class: "note" }, adviceOf(doubt)),
      html("div", { class: "row" }, ...waysOf(doubt, shown).map((way) => button(way.words, () => act(way))), button("Leave it as it is", leave))];
  }

  function draw({ shown, doubt: key, looked, taking }) {
    const now = [shown, key, looked, taking];
    if (!shown || before?.every((each, at) => each === now[at])) return;
    before = now;
    const doubts = doubtsOf(shown);
    const at = doubts.findIndex((each) => each.key === key);
    if (at >= 0) place = at + (looked.includes(key) ? 1 : 0);
    set(left, "text", leftInWords(shown, looked));
    const isHere = section.contains(document.activeElement);
    const isAsked = at >= 0 && !looked.includes(key) && !taking;
    const isAnswered = key && at < 0 && !taking;
    body.replaceChildren(...(isAsked ? question(doubts[at], shown, doubts) : isAnswered ? [html("p", {}, "That doubt is settled.")] : []));
    if (isHere && !section.contains(document.activeElement)) next.focus({ preventScroll: true });
  }

  addEventListener("keydown", (event) => {
    if (!event.altKey || event.code !== "KeyN") return;
    event.preventDefault();
    step();
  });
  return { draw, face };
}

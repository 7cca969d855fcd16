/** What the reader must know of the file and the server, and what the page says aloud. */
import { button, html, set } from "./elements.js";

/** Return a view of the notices in an element, and of the lines that are read aloud. */
export function createNotices(element, spoken, changes) {
  const alarmWords = html("p");
  const again = button("Ask again", () => changes.again());
  const alarm = html("div", { class: "notice alarm", role: "alert" });
  const conflictWords = html("p");
  const conflict = html("div", { class: "notice", role: "alert" });
  element.append(alarm, conflict);
  const conflictTools = html("p", { class: "row" },
    button("Make my change on the file as it is now", () => changes.resolve(true)),
    button("Leave my change", () => changes.resolve(false)));

  return (state) => {
    set(alarm, "hidden", !state.alarm);
    if (state.alarm && !alarm.firstChild) alarm.append(alarmWords, again);
    set(alarmWords, "text", state.alarm);
    const words = state.conflict
      ? `The file was changed outside while you changed it here (${state.conflict.words}). Nothing was overwritten: the page shows the file as it is now.`
      : "";
    set(conflict, "hidden", !words);
    if (words && !conflict.firstChild) conflict.append(conflictWords, conflictTools);
    set(conflictWords, "text", words);
    set(spoken, "text", state.said);
  };
}

/** The file as it is on the disk: what the page changes is this text, and nothing else. */
import { html, set } from "./elements.js";
import { findings } from "./state.js";

/** Return a view of the file's text in a section. */
export function createSource(section) {
  const fold = html("details", { class: "fold" });
  const text = html("ol", { class: "source", tabindex: 0, "aria-label": "Lines of the file" });
  fold.append(html("summary", {}, html("h2", {}, "The file")), text);
  section.append(fold);
  let before = null;
  let lines = [];

  function draw({ opened, facts, refused }) {
    set(section, "hidden", opened ? null : "");
    if (!opened || !fold.open) return;
    const found = findings(opened, facts, refused);
    if (before?.[0] === opened && before[1] === found) return;
    if (before?.[0] !== opened) write(opened.text);
    before = [opened, found];
    const wrong = new Set(found.filter((each) => each.severity === "error").map((each) => each.line));
    [...text.children].forEach((line, at) => set(line, "class", wrong.has(at + 1) ? "wrong" : null));
  }

  /** Write the lines; those that are new since the last time are marked. */
  function write(now) {
    const known = new Set(lines);
    const isFirst = lines.length === 0;
    lines = now.replace(/\n$/, "").split("\n");
    text.replaceChildren(...lines.map((line) =>
      html("li", {}, isFirst || known.has(line) ? html("code", {}, line) : html("mark", {}, line))));
  }

  let last = null;
  fold.addEventListener("toggle", () => last && draw(last));
  return (state) => {
    last = state;
    if (state.opened && !state.opened.disc && before?.[0] !== state.opened) fold.open = true;
    draw(state);
  };
}

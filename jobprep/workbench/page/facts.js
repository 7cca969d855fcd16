/** What is known of the disc that is shown, in the words and digits of the other reports. */
import { html, set } from "./elements.js";

/** Facts whose first line stands large above the others. */
const FIRST = ["mass", "thickness", "hold", "balance"];

/** Return a view of the facts in a section. */
export function createFacts(section) {
  const cards = html("dl", { class: "facts" });
  const held = html("tbody");
  const holds = html("table", { class: "worded" },
    html("caption", {}, "What holds each piece"),
    html("thead", {}, html("tr", {}, html("th", { scope: "col" }, "Layer"), html("th", { scope: "col" }, "Held by"))), held);
  const all = html("dl", { class: "numbers" });
  section.append(cards, html("details", { class: "fold" }, html("summary", {}, html("h3", {}, "All numbers")), holds, all));
  let before = null;

  return (state) => {
    const { facts, opened } = state;
    set(section, "hidden", opened?.disc && facts?.rows?.length ? null : "");
    if (!facts?.rows?.length || facts === before) return;
    before = facts;
    const first = FIRST.map((fact) => facts.rows.find((row) => row.fact === fact)).filter(Boolean);
    fill(cards, first, (note) => note?.split(/[,;:] |\. /, 1)[0] ?? "");
    fill(all, facts.rows, (note) => note ?? "");
    drawHeld(held, facts.held ?? []);
    set(holds, "hidden", !facts.held?.length);
  };
}

/** Write rows into a list; elements that are there already only get new words. */
function fill(list, rows, noteOf) {
  while (list.childElementCount > rows.length) list.lastChild.remove();
  while (list.childElementCount < rows.length) {
    list.append(html("div", {}, html("dt"), html("dd", {}, html("span"), html("small"))));
  }
  rows.forEach(({ label, value, unit, note }, at) => {
    const [dt, dd] = list.children[at].children;
    set(dt, "text", label);
    set(dd.firstChild, "text", `${value} ${unit ?? ""}`.trim());
    set(dd.lastChild, "text", noteOf(note));
  });
}

function drawHeld(body, held) {
  const key = JSON.stringify(held);
  if (body.dataset.held === key) return;
  body.dataset.held = key;
  body.replaceChildren(...held.map(({ layer, name, by, pieces }) =>
    html("tr", {}, html("th", { scope: "row" }, layer ? `${layer} ${name}` : name),
      html("td", { "data-name": "Held by" }, `${pieces === 1 ? "1 piece" : `${pieces} pieces`}: ${by}`))));
}

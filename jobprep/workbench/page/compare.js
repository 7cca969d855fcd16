/** A copy's photograph held against its design: the verdict on each line, and where it lies. */
import { button, html, set } from "./elements.js";

/** Return the view of the section; the designs of the folder can be chosen. */
export function createCompare(section, designs, actions, lookAt) {
  const which = html("select", { id: "compare-design" }, ...designs.map((path) => html("option", { value: path }, path)));
  const body = html("div");
  section.append(
    html("div", { class: "row field-row" }, html("label", { for: "compare-design" }, "This shows a copy of"), which, button("Compare", () => actions.compare(which.value))),
    html("p", { class: "note" }, "The copy's corrections count, but its diameter is that of the design."), body);
  set(section, "hidden", designs.length ? null : true);
  let before = null;

  function row(line, number, marks) {
    const mark = marks.find((each) => each.numbers.includes(number));
    const numbers = [["design", line.wanted], ["off", line.off], ["±", line.doubt], ["allowed", line.allowed]];
    const words = numbers.filter(([, value]) => value).map(([name, value]) => `${name} ${value}`).join(", ");
    return html("tr", { class: `verdict-${line.verdict.replace(" ", "-")}` },
      html("th", { scope: "row" }, `${number}`), html("td", {}, line.verdict),
      html("td", {}, line.what, line.remark ? html("small", {}, ` ${line.remark}`) : null), html("td", {}, words),
      html("td", { class: "tools" }, mark ? button("Look at it", () => lookAt(mark.at), { "aria-label": `Look at line ${number}: ${line.what}` }) : null));
  }

  return ({ compared }) => {
    if (compared === before) return;
    before = compared;
    if (!compared) return body.replaceChildren();
    const rows = compared.rows.map((line, at) => row(line, at + 1, compared.marks));
    const heads = ["Line", "Verdict", "What", "Numbers"].map((each) => html("th", { scope: "col" }, each));
    body.replaceChildren(html("p", { role: "status", class: "verdict-words" }, compared.conclusion),
      html("table", { class: "measured" }, html("thead", {}, html("tr", {}, ...heads, html("td"))), html("tbody", {}, ...rows)),
      ...compared.told.map((words) => html("p", { class: "note" }, words)),
      button("Take the comparison away", actions.uncompare));
  };
}

/** Books a run as cut: what is spoiled, what the shelf gives and gets, and only then the booking. */
import { api } from "./api.js";
import { button, html, set } from "./elements.js";
import { changePieces } from "./pieces.js";

/** Return the booking of a run in a section: ``tick`` takes a part where it lies on its sheet. */
export function createBooking(section, run, showSpoiled) {
  const bad = new Map(run.parts.map(({ number }) => [number, new Set()]));
  const sheets = new Set();
  const lying = new Map(run.parts.map(({ number }) => [number, run.sheets.flatMap(({ parts }) => parts.filter((each) => each.number === number).map(({ copy }) => copy))]));
  const ticking = html("input", { type: "checkbox" });
  const shown = html("div", { "aria-live": "polite" });
  const fields = run.parts.map(({ number, name }) => {
    const id = `spoiled-${number}`;
    const input = html("input", { id, type: "number", min: 0, max: lying.get(number).length, value: 0, inputmode: "numeric" });
    input.addEventListener("change", () => {
      const count = Math.min(Math.max(0, Math.trunc(Number(input.value)) || 0), lying.get(number).length);
      // Those ticked on the sheet stay as long as there are enough of them.
      const kept = [...bad.get(number)].slice(0, count);
      const more = lying.get(number).filter((copy) => !kept.includes(copy)).slice(0, count - kept.length);
      bad.set(number, new Set([...kept, ...more]));
      draw();
    });
    return { number, input, row: html("div", { class: "field" }, html("label", { for: id }, `${number}, ${name}`), input, html("span", { class: "unit" }, `of ${lying.get(number).length}`)) };
  });
  const whole = run.sheets.map((each) => {
    const box = html("input", { type: "checkbox" });
    box.addEventListener("change", () => {
      if (box.checked) sheets.add(each);
      else sheets.delete(each);
      draw();
    });
    return html("label", {}, box, `All of ${each.name} came out bad`);
  });

  section.replaceChildren(html("h2", {}, "Book as cut"), html("div", { class: "book" },
    html("p", {}, "Booking takes the sheets of this run off the shelf and puts its leftovers there. Nothing is written before you have seen it."),
    html("h3", {}, "What came out bad"), html("label", {}, ticking, "Tick spoiled parts where they lie on the sheet above"),
    html("div", { class: "spoiled" }, ...fields.map(({ row }) => row)), html("p", { class: "row" }, ...whole),
    html("p", { class: "row" }, button("Show what changes", () => ask(null))), shown));

  function wanted() {
    const spoiled = [...bad].filter(([, copies]) => copies.size).map(([part, copies]) => ({ part, count: copies.size }));
    return { path: run.path, spoiled, sheets: [...sheets].map(({ film, number }) => ({ film: film.name, sheet: number })) };
  }

  function draw() {
    for (const { number, input } of fields) input.value = bad.get(number).size;
    shown.replaceChildren();
    showSpoiled(({ number, copy }) => bad.get(number)?.has(copy));
  }

  async function ask(change) {
    try {
      const found = await api.book({ ...wanted(), ...(change ? { change } : {}) });
      const again = found.again ? ` ${found.again} spoiled ${found.again === 1 ? "part" : "parts"} to cut again: ${found.job}.` : "";
      if (found.booked) {
        section.replaceChildren(html("h2", {}, "Book as cut"), html("p", { class: "notice", role: "status" }, `Booked in ${found.ledger}.${again} `, html("a", { href: `/shelf?path=${encodeURIComponent(found.ledger)}` }, "Look at the shelf")));
        return;
      }
      shown.replaceChildren(html("h3", {}, `What changes in ${found.ledger}`), changePieces(found), ...(again ? [html("p", {}, again)] : []),
        html("p", { class: "row" }, button("Book the run", () => ask(found.change))));
    } catch (error) {
      shown.replaceChildren(html("p", { class: "notice" }, error.message));
    }
  }

  draw();
  return {
    /** Tick a part or let it go; return whether parts are ticked at all now. */
    tick({ number, copy }) {
      if (!ticking.checked) return false;
      const copies = bad.get(number);
      if (!copies.delete(copy)) copies.add(copy);
      draw();
      return true;
    },
    redraw: () => showSpoiled(({ number, copy }) => bad.get(number)?.has(copy)),
  };
}

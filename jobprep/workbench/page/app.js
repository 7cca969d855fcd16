/** Joins the page: one state, its views, what the server reports, and the keys for all of it. */
import { api, listen } from "./api.js";
import { createChanges, followFacts, NEVER_LOST } from "./changes.js";
import { createDial } from "./dial.js";
import { button, html, set } from "./elements.js";
import { createFacts } from "./facts.js";
import { createFiles, PAGES } from "./files.js";
import { createFindings } from "./findings.js";
import { createHandles } from "./handles.js";
import { createHoles } from "./holes.js";
import { createLayers } from "./layers.js";
import { createNotices } from "./notices.js";
import { createPicked } from "./picked.js";
import { createSectors } from "./sectors.js";
import { createSizes } from "./sizes.js";
import { createSource } from "./source.js";
import { createStore } from "./state.js";
import { createStrips } from "./strips.js";

const part = (id) => document.getElementById(id);
const store = createStore();
const changes = createChanges(store, api);

function createHeader() {
  const undo = button("Undo", () => changes.step("undo"), { "aria-keyshortcuts": "Control+Z" });
  const redo = button("Redo", () => changes.step("redo"), { "aria-keyshortcuts": "Control+Shift+Z" });
  const snap = html("input", {
    type: "checkbox", onchange: (event) => store.change({ snaps: event.target.checked }),
  });
  part("tools").append(undo, redo, html("label", {}, snap, html("span", {}, "Snap"),
    html("small", {}, "to degrees and to other layers; Shift turns it off")));
  return (state) => {
    const { opened, folder } = state;
    const name = opened?.disc?.name ?? opened?.path ?? folder?.folder ?? "jobprep";
    set(part("name"), "text", name);
    document.title = `${name} – jobprep`;
    set(part("path"), "text", opened ? opened.path : "");
    set(part("tools"), "hidden", opened ? null : "");
    set(undo, "disabled", !opened?.undo);
    set(redo, "disabled", !opened?.redo);
    snap.checked = state.snaps;
  };
}

/** Show what the picture is of, for those who cannot see it, and what stands under it. */
function createNotes() {
  return ({ opened, facts }) => {
    const { balance } = facts ?? {};
    set(part("bench"), "hidden", opened ? null : "");
    set(part("front"), "hidden", opened?.disc ? null : "");
    const turned = balance?.angle === null || balance?.angle === undefined;
    const heavy = turned ? "" : `Wedge: heavy side, ${balance.angle.toFixed(1)}°, ${balance.g_mm.toPrecision(3)} g·mm. `;
    const dashed = [opened?.disc?.hub_diameter && "the hub", opened?.disc?.beam && "where light passes"];
    const words = dashed.filter(Boolean).join(", ");
    set(part("under"), "text", heavy + (words && `Dashed: ${words}.`));
  };
}

const picture = part("disc");
const drawDial = createDial(picture);
const views = [
  createHeader(),
  createNotes(),
  createNotices(part("notices"), part("spoken"), changes),
  drawDial,
  createHandles(picture, store, changes),
  createPicked(part("picked"), store, changes),
  createLayers(part("layers"), store, changes),
  createSectors(part("sectors"), store, changes),
  createHoles(part("holes"), store, changes),
  createSizes(part("sizes"), store, changes),
  createFacts(part("facts")),
  createStrips(part("strips")),
  createFiles(part("files"), store, changes),
  createSource(part("source")),
  createFindings(part("findings")),
];
for (const draw of views) store.show(draw);
followFacts(store, api);

/** Mark the page busy while something is on its way, for programs that read it. */
store.show(({ sending, asking, server }) => {
  const isBusy = server === "here" && (sending.length > 0 || asking);
  document.documentElement.dataset.busy = isBusy ? "yes" : "no";
});

/** Closing the page loses nothing that a server took; of the rest the browser asks. */
addEventListener("beforeunload", (event) => {
  if (store.state.unsaved.length) event.preventDefault();
});

/** Undo and redo by key, but not while a field holds text that is not kept yet. */
addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
  const key = event.key.toLowerCase();
  const way = key === "y" || (key === "z" && event.shiftKey) ? "redo" : key === "z" ? "undo" : null;
  const isTyping = event.target instanceof HTMLInputElement && store.state.trial.length > 0;
  if (!way || isTyping) return;
  event.preventDefault();
  changes.step(way);
});

listen({
  file: (event) => changes.outside(event),
  folder: () => changes.files(),
  materials: () => changes.materials(),
  ends: () =>
    store.change({
      server: "ended",
      alarm: `jobprep has ended. ${NEVER_LOST}`,
    }),
  lost: () => {
    if (store.state.server === "here") {
      store.change({
        server: "away",
        alarm: `jobprep does not answer. ${NEVER_LOST}`,
      });
    }
  },
  found: () => {
    if (store.state.server !== "here") changes.again();
  },
});

await changes.files();
const { folder } = store.state;
const asked = new URLSearchParams(location.search);
const first = asked.get("path") ?? folder?.open ?? folder?.files.find((file) => file.kind === "design")?.path;
const elsewhere = PAGES[folder?.files.find((file) => file.path === first)?.kind];
if (elsewhere && !asked.has("files")) location.replace(`${elsewhere}?path=${encodeURIComponent(first)}`);
else if (first && !elsewhere) await changes.open(first);
document.documentElement.dataset.page = "ready";

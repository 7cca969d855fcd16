/**
 * Mistakes and cautions: each at the place it concerns, and all of them in one list, in the words
 * of `check`.
 */
import { html, set } from "./elements.js";
import { findings } from "./state.js";

/** Return a view of the findings in a section; it is drawn after all that has places. */
export function createFindings(section) {
  const title = section.querySelector("h2");
  const list = html("ul");
  section.append(list);
  let before = null;
  let marked = [];
  let places = 0;

  return (state) => {
    const found = state.opened ? findings(state.opened, state.facts, state.refused) : [];
    const now = document.querySelectorAll("[data-at]").length;
    if (found === before && now === places) return;
    [before, places] = [found, now];
    set(section, "hidden", found.length ? null : "");
    const errors = found.filter((each) => each.severity === "error").length;
    set(title, "text", errors ? `${errors} to correct` : "Cautions");
    list.replaceChildren(...found.map((each) => line(each)));
    for (const fault of marked) set(fault, "text", "");
    marked = [];
    const field = document.querySelector("[aria-invalid=true]");
    for (const each of found) mark(each, state.refused?.findings.includes(each) ? field : null);
  };

  function line({ severity, at, line: number, message }) {
    const where = [number ? `line ${number}` : "", at].filter(Boolean).join(", ");
    const place = at && placeOf(at);
    const name = place ? html("a", { href: "#", onclick: (event) => go(event, at) }, where) : where;
    return html("li", { class: severity }, ...(where ? [name, ": "] : []), message);
  }

  /** Say a mistake beside its place; of a caution only that there is one, since it may be long.
   * What was refused is said at the field it was typed in. */
  function mark({ severity, at, message }, field) {
    const own = field && document.getElementById(field.getAttribute("aria-describedby"));
    const fault = own ?? (at && faultOf(placeOf(at)));
    if (!fault) return;
    const words = severity === "error" ? message : "See the cautions.";
    if (fault.textContent.includes(words)) return;
    set(fault, "text", `${fault.textContent} ${words}`.trim());
    if (!marked.includes(fault)) marked.push(fault);
  }
}

/** Return the element of a field path, or of the nearest thing around it that the page shows. */
function placeOf(at) {
  for (let path = at; path; path = path.replace(/(\.[^.[]+|\[\d+\])$|^[^.[]+$/, "")) {
    const found = document.querySelector(`[data-at="${CSS.escape(path)}"]`) ?? byName(path);
    if (found && !found.closest("[hidden]")) return found;
  }
  return null;
}

/** Return where a place's mistakes are said: in it, or in the row around it. */
function faultOf(place) {
  return place?.querySelector(".fault") ?? place?.closest("tbody")?.querySelector(".fault");
}

function byName(path) {
  return [...document.querySelectorAll("[data-at]")].find((each) => each.dataset.at === path);
}

function go(event, at) {
  event.preventDefault();
  const place = placeOf(at);
  place?.scrollIntoView({ block: "center" });
  place?.querySelector("input, button")?.focus();
}

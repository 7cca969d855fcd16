/**
 * A field with a typed value: shown before it is saved, kept by Enter or by leaving it.
 *
 * What was refused stays in the field, with the reason beside it in the words of `check`.
 */
import { html, set } from "./elements.js";
import { rounded } from "./geometry.js";
import { shownDisc } from "./state.js";

let made = 0;

/** Return an element for what is wrong with fields beside it. */
export function createFault() {
  made += 1;
  return html("span", { class: "fault", id: `fault-${made}` });
}

/** Return a row of a table for what is wrong with the row above; it is seen only if it has words. */
export function faultRow(fault, columns) {
  return html("tr", { class: "fault-row" }, html("td", { colspan: columns }, fault));
}

/** Return what a text means: a number, null for nothing, else the text for the server to judge. */
export function typed(text) {
  const plain = text.trim();
  if (!plain) return null;
  const number = Number(plain.replace(",", "."));
  return Number.isFinite(number) ? number : plain;
}

/** Return the value of a field path of a file, undefined where the file does not say. */
export function valueAt(values, at) {
  const steps = at.replaceAll("]", "").split(/[.[]/);
  return steps.reduce((found, step) => found?.[/^\d+$/.test(step) ? step - 1 : step], values ?? undefined);
}

/**
 * Return a field: its elements, and ``draw(state)``.
 *
 * @param {{label: string, unit?: string, at: string, read: (disc: object) => any,
 *   edits: (value: any, disc: object) => object[], isText?: boolean, hint?: string,
 *   fault?: HTMLElement}} field  ``fault`` where what is wrong with it is said elsewhere
 */
export function createField(field, store, changes) {
  made += 1;
  const id = `field-${made}`;
  const { label, unit = "", at, read, edits, isText = false, hint = "" } = field;
  const fault = field.fault ?? createFault();
  const input = html("input", {
    id, type: "text", autocomplete: "off", spellcheck: "false", inputmode: isText ? "text" : "decimal",
    placeholder: hint || null, "aria-describedby": fault.id,
  });
  const after = unit ? html("span", { class: "unit", "aria-hidden": "true" }, unit) : null;
  const name = html("label", { for: id }, label);
  const node = html("div", { class: isText ? "field worded" : "field", "data-at": at }, name, input, after, field.fault ? null : fault);
  let sent = null;
  let isTyping = false;

  const value = () => (isText ? input.value.trim() || null : typed(input.value));
  const madeEdits = () => edits(value(), shownDisc(store.state));

  input.addEventListener("input", () => {
    isTyping = true;
    if (Number.isFinite(value())) changes.attempt(madeEdits());
  });
  input.addEventListener("change", () => {
    isTyping = false;
    sent = madeEdits();
    if (!sent.length) return changes.drop();
    changes.keep(sent, `${label}, ${input.value.trim() || "nothing"} ${unit}`.trim());
  });
  input.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    isTyping = false;
    sent = null;
    changes.drop();
    input.value = shown(store.state);
  });
  input.addEventListener("blur", () => {
    isTyping = false;
  });

  /** Return the text of the file where it has one of its own for this value, else the number. */
  function shown(state) {
    const disc = shownDisc(state);
    if (!disc) return "";
    const now = read(disc);
    const inFile = valueAt(state.opened.values, at);
    if (typeof inFile === "string" && state.opened.disc && read(state.opened.disc) === now) return inFile;
    return typeof now === "number" ? `${rounded(now)}` : (now ?? "");
  }

  function draw(state) {
    const isRefused = sent !== null && state.refused?.edits === sent;
    set(input, "aria-invalid", isRefused ? "true" : null);
    const isOnItsWay = sent !== null && state.sending.includes(sent[0]);
    if (isTyping || isRefused || isOnItsWay) return;
    const text = `${shown(state)}`;
    if (input.value !== text) input.value = text;
  }

  return { node, input, draw };
}

/** Fields of a job's file, each made from what the file's declarations say of it. */
import { createFault, typed, valueAt } from "./field.js";
import { html, set } from "./elements.js";

let made = 0;

/** Return a key as words. */
export const words = (key) => key.replaceAll("_", " ");

/** Return a value as it stands in a field. */
export const shown = (value) => (value === undefined || value === null ? "" : Array.isArray(value) ? JSON.stringify(value).replaceAll(",", ", ") : `${value}`);

/** Return what a text means in a field of a kind; null for nothing, else what the server judges. */
export function meant(kind, text) {
  const plain = text.trim();
  if (!plain) return null;
  if (kind === "flag") return plain === "true";
  if (kind === "number") return typed(plain);
  if (kind !== "list") return plain;
  try {
    return JSON.parse(plain.startsWith("[") ? plain : `[${plain}]`);
  } catch {
    return plain;
  }
}

/** Return what a field says where the file says nothing: never as if somebody had chosen it. */
export function unchosen({ required, default: usual }, assumed, isNeeded = true) {
  if (required) return isNeeded ? "Required." : "Not chosen; the other fields need it.";
  if (usual !== undefined) return `Not chosen; ${shown(usual)} by default.`;
  return assumed === undefined || assumed === null ? "Not chosen." : `Not chosen; ${shown(assumed)} assumed.`;
}

const sentence = (text) => (text ? `${text[0].toUpperCase()}${text.slice(1)}.` : "");

/** Return a line for why an edit was refused; ``keep`` sends one, ``draw(state)`` says the reason. */
export function createRefusal(changes) {
  const node = html("p", { class: "fault", role: "alert" });
  let sent = null;
  return {
    node,
    keep(edits, said) {
      sent = edits;
      changes.keep(edits, said);
    },
    draw({ refused }) {
      const isRefused = sent !== null && refused?.edits === sent;
      set(node, "text", isRefused ? refused.findings.map(({ message }) => message).join(" ") : "");
    },
  };
}

/** Return an input for a declared field: text, or a list of what may be chosen. */
export function createInput(declared, id, offers) {
  const choices = declared.kind === "flag" ? ["true", "false"] : declared.choices;
  if (choices) return html("select", { id }, html("option", { value: "" }, declared.required ? "" : "not chosen"), ...choices.map((each) => html("option", { value: each }, each)));
  return html("input", {
    id, type: "text", autocomplete: "off", spellcheck: "false", inputmode: declared.kind === "number" ? "decimal" : "text",
    list: offers[declared.key]?.length ? `offers-${declared.key}` : null,
  });
}

/** Return a field that is not bound to the file yet, for what is added; ``read()`` is its value. */
export function createLoose(declared, offers) {
  made += 1;
  const id = `new-${made}`;
  const input = createInput(declared, id, offers);
  const note = html("small", { id: `${id}-note` }, sentence(declared.words));
  set(input, "aria-describedby", note.id);
  const node = html("div", { class: "field worded chosen-field" }, html("label", { for: id }, words(declared.key)), input, note);
  return { key: declared.key, node, read: () => meant(declared.kind, input.value) };
}

/**
 * Return a field of the file: its element, and ``draw(state)``.
 *
 * ``at`` is its path; in a table keyed by film ``name`` is the film.
 */
export function createField(declared, at, name, offers, store, changes) {
  made += 1;
  const id = `job-${made}`;
  const fault = createFault();
  const input = createInput(declared, id, offers);
  const note = html("small", { id: `${id}-note` });
  const label = name ?? words(declared.key);
  set(input, "aria-describedby", `${fault.id} ${note.id}`);
  const path = name === null ? at : `${at}.${/^[A-Za-z0-9_-]+$/.test(name) ? name : `"${name}"`}`;
  const node = html("div", { class: "field worded chosen-field", "data-at": path }, html("label", { for: id }, label), input, note, fault);
  let sent = null;
  let isTyping = false;

  const inFile = ({ opened }) => (name === null ? valueAt(opened.values, at) : valueAt(opened.values, at)?.[name]);
  const textOf = (state) => shown(inFile(state));

  input.addEventListener("input", () => {
    isTyping = true;
  });
  input.addEventListener("change", () => {
    isTyping = false;
    if (input.value.trim() === textOf(store.state)) return changes.drop();
    const value = meant(declared.kind, input.value);
    sent = [{ do: "set", at, value, ...(name === null ? {} : { name }) }];
    changes.keep(sent, value === null ? `${label} left out` : `${label}, ${input.value.trim()}`);
  });
  input.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    isTyping = false;
    sent = null;
    changes.drop();
    input.value = textOf(store.state);
  });

  function draw(state) {
    const isRefused = sent !== null && state.refused?.edits === sent;
    set(input, "aria-invalid", isRefused ? "true" : null);
    const value = inFile(state);
    const isChosen = value !== undefined;
    const assumed = name === null ? state.opened.assumed[at] : state.opened.assumed[at]?.[name];
    set(node, "class", `field worded chosen-field${isChosen ? "" : " unset"}`);
    const isNeeded = !at.includes(".") || valueAt(state.opened.values, at.replace(/\.[^.]+$/, "")) !== undefined;
    set(note, "text", [isChosen ? "" : unchosen(declared, assumed, isNeeded), sentence(declared.words)].join(" ").trim());
    if (isTyping || isRefused || (sent && state.sending.includes(sent[0]))) return;
    if (input.value !== shown(value)) input.value = shown(value);
  }

  return { node, draw };
}

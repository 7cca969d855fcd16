/** The form of a job: a fold for each table of its file, made from the file's declarations. */
import { button, html, set, svg } from "./elements.js";
import { createField, createLoose, createRefusal, words } from "./job_fields.js";
import { createPiece } from "./job_piece.js";
import { valueAt } from "./field.js";

/** Return a small picture of an outline. */
export function outline({ d, x, y, width, height }, name) {
  const room = Math.max(width, height) * 0.03;
  return svg("svg", { class: "outline-of", viewBox: `${x - room} ${-y - height - room} ${width + 2 * room} ${height + 2 * room}`, role: "img", "aria-label": name },
    svg("path", { d }));
}

const offered = ([key, names]) => html("datalist", { id: `offers-${key}` }, ...names.map((value) => html("option", { value })));

const size = ({ width, height }) => `${+width.toFixed(2)} × ${+height.toFixed(2)} mm`;

/** Return a view of the whole form in a section. */
export function createForm(section, store, changes) {
  const body = html("div");
  section.append(body);
  let built = null;
  let fields = [];

  return (state) => {
    const { form, opened } = state;
    set(section, "hidden", form && opened?.values ? null : true);
    if (!form || !opened?.values) return;
    const key = JSON.stringify([form.length, opened.films, opened.offers, opened.bought, opened.parts, opened.stock, shapeOf(opened.values)]);
    if (key !== built) build(state);
    built = key;
    for (const field of fields) field.draw(state);
  };

  function build({ form, opened }) {
    const focused = body.contains(document.activeElement) ? document.activeElement : null;
    const open = new Set([...body.querySelectorAll("details[open]")].map((each) => each.dataset.fold));
    fields = [];
    const plain = form.filter(({ kind }) => !["table", "rows", "named"].includes(kind));
    const others = form.filter((each) => !plain.includes(each));
    body.replaceChildren(...Object.entries(opened.offers).map(offered), html("div", { class: "fields" }, ...plain.map((each) => field(each, each.key))),
      ...others.map((each) => fold(each, opened)));
    for (const each of body.querySelectorAll("details")) each.open = open.has(each.dataset.fold);
    if (focused) focusAgain(focused);
  }

  /** Bring the focus to what took the place of an element: the same button, or the same field. */
  function focusAgain({ tagName, textContent, parentElement }) {
    const at = parentElement?.closest("[data-at]")?.dataset.at;
    const same = tagName === "BUTTON" && [...body.querySelectorAll("button")].find((each) => each.textContent === textContent);
    const place = [...body.querySelectorAll("[data-at]")].find((each) => each.dataset.at === at);
    (same || place?.querySelector("input, select, button, summary"))?.focus();
  }

  function field(declared, at, name = null) {
    const made = createField(declared, at, name, store.state.opened.offers, store, changes);
    fields.push(made);
    return made.node;
  }

  function fold(declared, opened) {
    const { key, kind } = declared;
    const inside = { rows, named, table }[kind](declared, key, opened);
    const count = kind === "rows" ? (opened.values[key]?.length ?? 0) : Object.keys(opened.values[key] ?? {}).length;
    const note = kind === "rows" ? `${count}` : count ? `${count} chosen` : "nothing chosen";
    return html("details", { class: "fold", "data-at": key, "data-fold": key },
      html("summary", {}, html("h3", {}, words(key)), " ", html("small", {}, note)),
      html("p", { class: "note" }, `${declared.words}.`), html("span", { class: "fault" }), ...inside);
  }

  function table(declared, at, opened) {
    const inner = declared.fields.filter(({ kind }) => kind !== "table" && kind !== "named");
    const tables = declared.fields.filter((each) => !inner.includes(each));
    return [html("div", { class: "fields" }, ...inner.map((each) => field(each, `${at}.${each.key}`))), ...tables.map((each) => group(each, `${at}.${each.key}`, opened, declared.one_of.includes(each.key)))];
  }

  function group(declared, at, opened, isShape) {
    const isThere = valueAt(opened.values, at) !== undefined;
    const leave = isThere && !isShape && declared.kind === "table" && !declared.required
      ? button(`Leave ${words(declared.key)} out`, () => changes.keep([{ do: "set", at, value: null }], `${words(declared.key)} left out`)) : null;
    return html("fieldset", { class: "group", "data-at": at }, html("legend", {}, `${words(declared.key)}: ${declared.words}`), html("span", { class: "fault" }),
      ...(declared.kind === "named" ? named : table)(declared, at, opened), leave);
  }

  function named(declared, at, opened) {
    const names = [...new Set([...opened.films, ...Object.keys(valueAt(opened.values, at) ?? {})])];
    const value = { key: at, kind: "number", words: "", required: false };
    return [html("div", { class: "fields" }, ...names.map((name) => field(value, at, name)))];
  }

  function rows(declared, key, opened) {
    const there = opened.values[key] ?? [];
    return [...there.map((row, index) => one(declared, key, row, index + 1, opened)), ...(key === "stock" ? bought(opened) : []), adding(declared, key)];
  }

  function one(declared, key, row, number, opened) {
    const at = `${key}[${number}]`;
    const title = `${words(key)} ${number}: ${row.name ?? row.label ?? row.design ?? row.film ?? ""}`;
    const kept = declared.fields.filter((each) => !declared.one_of.includes(each.key) || row[each.key] !== undefined);
    const shape = { part: opened.parts, stock: opened.stock }[key]?.[number - 1];
    const picture = shape && (key === "stock" ? piece(shape, number, row, title) : html("figure", {}, outline(shape, `Outline of ${title}`), html("figcaption", { class: "note" }, size(shape))));
    return html("fieldset", { class: "one", "data-at": at }, html("legend", {}, title), html("span", { class: "fault" }), picture || null,
      ...table({ ...declared, fields: kept }, at, opened),
      button(`Remove ${words(key)} ${number}`, () => changes.keep([{ do: `remove ${key}`, [key]: number }], `${title} removed`)));
  }

  function piece(shape, number, row, title) {
    const refusal = createRefusal(changes);
    fields.push(refusal);
    return createPiece(shape, number, row, title, refusal);
  }

  /** Say of the films without an entry where their sheets come from. */
  function bought({ bought: films }) {
    if (!films.length) return [];
    return [html("div", { class: "bought" }, html("p", {}, "These films have no entry here: what is on the shelf of a stock ledger is used, and usual sheets are bought as needed. No place can be forbidden on those. Once a film has an entry, no more of it is bought than its entries say."),
      html("ul", {}, ...films.map(({ film, sizes }) => html("li", {}, `${film} `, ...sizes.map((each) => button(`Add a sheet of ${film}, ${each.join(" × ")} mm`,
        () => changes.keep([{ do: "add stock", film, size: each }], `a sheet of ${film} added`))))))) ];
  }

  /** Ask for what a new row cannot do without. */
  function adding(declared, key) {
    const { offers } = store.state.opened;
    const needed = declared.fields.filter((each) => each.required).map((each) => createLoose(each, offers));
    const shapes = declared.fields.filter((each) => declared.one_of.includes(each.key));
    const inner = html("div", { class: "fields" });
    let shaped = [];
    const choose = html("select", { id: `shape-${key}` }, ...shapes.map((each) => html("option", { value: each.key }, words(each.key))));
    const show = () => {
      const shape = shapes.find((each) => each.key === choose.value);
      shaped = !shape ? [] : shape.kind === "table" ? shape.fields.map((each) => createLoose(each, offers)) : [createLoose(shape, offers)];
      inner.replaceChildren(...shaped.map(({ node }) => node));
    };
    choose.addEventListener("change", show);
    show();
    const refusal = createRefusal(changes);
    fields.push(refusal);
    const read = (loose) => Object.fromEntries(loose.map((each) => [each.key, each.read()]).filter(([, value]) => value !== null));
    const form = html("form", { class: "adding", "aria-label": `A new ${words(key)}` }, html("h4", {}, `A new ${words(key)}`), html("div", { class: "fields" }, ...needed.map(({ node }) => node)),
      shapes.length ? html("div", { class: "field chosen-field" }, html("label", { for: choose.id }, "given by"), choose) : null, inner,
      html("button", { type: "submit" }, `Add this ${words(key)}`), refusal.node);
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      const shape = shapes.find((each) => each.key === choose.value);
      const values = shape?.kind === "table" ? { [shape.key]: read(shaped) } : read(shaped);
      refusal.keep([{ do: `add ${key}`, ...read(needed), ...values }], `a ${words(key)} added`);
    });
    return form;
  }
}

/** Return what of the values decides which fields there are. */
function shapeOf(values) {
  if (Array.isArray(values)) return values.map((each) => (each && typeof each === "object" ? shapeOf(each) : 0));
  if (!values || typeof values !== "object") return 0;
  return Object.fromEntries(Object.entries(values).map(([key, each]) => [key, shapeOf(each)]));
}

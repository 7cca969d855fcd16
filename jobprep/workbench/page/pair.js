/** The two pictures of one disc: which of them is shown, and a second one taken to the first. */
import { button, html } from "./elements.js";

/**
 * What the address says.
 *
 * @typedef {object} Pair
 * @property {string} path         the first picture
 * @property {string|null} other   the second, joined with it
 * @property {boolean} isBack      whether the second shows the back
 * @property {boolean} isSecond    whether the second is the one that is shown
 */

/** Return the pair of an address. @returns {Pair} */
export function pairOf(search) {
  const query = new URLSearchParams(search);
  const other = query.get("other");
  return { path: query.get("path") ?? "", other, isBack: query.has("back"), isSecond: Boolean(other) && query.has("second") };
}

/** Return the address of a pair. */
export function addressOf({ path, other, isBack, isSecond }) {
  const query = new URLSearchParams({ path });
  if (other) query.set("other", other);
  if (other && isBack) query.set("back", "");
  if (other && isSecond) query.set("second", "");
  return `/photograph?${query}`;
}

/** Fill the place of the two pictures: links to each, or a form for a second one of the folder. */
export function showPair(nav, pair, files) {
  const link = (words, isSecond) => html("a", { href: addressOf({ ...pair, isSecond }), "aria-current": pair.isSecond === isSecond ? "page" : null }, words);
  if (pair.other) {
    const side = pair.isBack ? "Back" : "Same side again";
    nav.append(link(`Front: ${pair.path}`, false), link(`${side}: ${pair.other}`, true),
      html("a", { href: addressOf({ path: pair.path }) }, "This one alone"));
    return;
  }
  const others = files.filter(({ kind, path }) => kind === "picture" && path !== pair.path);
  if (!others.length) return;
  const which = html("select", { id: "pair-other" }, ...others.map(({ path }) => html("option", { value: path }, path)));
  const side = html("select", { id: "pair-side" }, html("option", { value: "back" }, "of the back"), html("option", { value: "" }, "of the same side"));
  const join = () => location.assign(addressOf({ path: pair.path, other: which.value, isBack: side.value === "back", isSecond: true }));
  nav.append(html("details", { class: "fold" }, html("summary", {}, "A second picture of this disc"),
    html("div", { class: "row field-row" }, html("label", { for: "pair-other" }, "Picture"), which, html("label", { for: "pair-side" }, "It is"), side, button("Join it with this one", join))));
}

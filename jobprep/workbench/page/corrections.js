/** What a person does to something found, as keys of the correction file set to new values. */
import { between, dial } from "./plane.js";

/** How near a correction must lie to an edge to mean it, degrees; as the reading takes it. */
const NEAR = 4;

const rounded = (value, digits) => Number(value.toFixed(digits));
const angle = (value) => rounded(dial(value), 2);
const set = (at, value) => ({ do: "set", at, value: value?.length === 0 ? null : value });

/** Return the list of a key without what lies near an angle. */
const without = (values, key, at) => (values[key] ?? []).filter((each) => Math.abs(between(each, at)) > NEAR);

/** Return edits that keep in these keys nothing near an angle, of those keys that have something. */
function cleared(values, at, ...keys) {
  return keys
    .filter((key) => (values[key] ?? []).length !== without(values, key, at).length)
    .map((key) => set(key, without(values, key, at)));
}

/** Take an edge out: one that a person gave goes, one that was found is removed. */
export function removeEdge(values, edge) {
  const edits = cleared(values, edge.dial, "add_edges", "hold_edges", "sure_edges");
  if (edge.given === "add_edges" || edge.given === "hold_edges") return edits;
  return [...edits, set("remove_edges", [...(values.remove_edges ?? []), angle(edge.dial)])];
}

/** Put an edge elsewhere: refined where one is seen there, or held just there. */
export function moveEdge(values, edge, to, isHeld) {
  const key = isHeld ? "hold_edges" : "add_edges";
  const edits = removeEdge(values, edge).filter((each) => each.at !== key);
  return [...edits, set(key, [...without(values, key, edge.dial), angle(to)])];
}

/** Say that an edge is right. */
export function confirmEdge(values, edge) {
  return [set("sure_edges", [...without(values, "sure_edges", edge.dial), angle(edge.dial)])];
}

/** Add an edge, and no longer remove what lay there. */
export function addEdge(values, at, isHeld = false) {
  const key = isHeld ? "hold_edges" : "add_edges";
  return [...cleared(values, at, "remove_edges"), set(key, [...without(values, key, at), angle(at)])];
}

const place = ([x, y]) => [rounded(x, 1), rounded(y, 1)];
const others = (values, hole) =>
  (values.add_holes ?? []).filter(([x, y]) => Math.hypot(x - hole.at[0], y - hole.at[1]) >= 2);

/** Take a hole out. */
export function removeHole(values, hole) {
  if (hole.is_given) return [set("add_holes", others(values, hole))];
  return [set("no_holes", [...(values.no_holes ?? []), place(hole.at)])];
}

/** Add a hole of a width in pixels. */
export function addHole(values, at, width) {
  return [set("add_holes", [...(values.add_holes ?? []), [...place(at), rounded(width, 1)]])];
}

/** Give what is found by points: the rim, the bore, or the place of something white. */
export function givePoints(key, points) {
  return [set(key, key === "white" ? place(points[0]) : points.map(place))];
}

/** Set one plain key, or take it out. */
export const giveValue = (key, value) => [{ do: "set", at: key, value: value === "" ? null : value }];

/** What a photograph leaves in doubt, and what a person may say of each. Pure. */
import { addEdge, addHole, confirmEdge, giveValue, removeEdge, removeHole } from "./corrections.js";

/** Return all doubts, each with a key that stays for as long as the same thing is in doubt. */
export function doubtsOf(shown) {
  const times = {};
  return (shown?.found?.doubts ?? []).map((doubt) => {
    const name = `${doubt.about}: ${doubt.words}`;
    times[name] = (times[name] ?? 0) + 1;
    return { ...doubt, key: `${name} ${times[name]}` };
  });
}

/** Return the name of what is drawn for a doubt and can be taken hold of, null for nothing. */
export function thingOf(doubt) {
  const kind = { edge: "edge", mark: "hole" }[doubt?.about];
  return kind ? `${kind}-${doubt.number + 1}` : null;
}

/** Return the next doubt that nobody has looked at, from a place in the list on; null for none. */
export function nextDoubt(doubts, looked, from) {
  const order = [...doubts.slice(from), ...doubts.slice(0, from)];
  return order.find((each) => !looked.includes(each.key)) ?? null;
}

/** Return how many doubts are left, in words: none only where that holds. */
export function leftInWords(shown, looked) {
  if (!shown?.found) return "No disc was found, so nothing in it can be judged yet.";
  const doubts = doubtsOf(shown);
  const open = doubts.filter((each) => !looked.includes(each.key)).length;
  if (open) return `${open} of ${doubts.length === 1 ? "1 doubt" : `${doubts.length} doubts`} to look at.`;
  if (!doubts.length) return "No doubt is left. Look all the same whether everything is right.";
  return `You have looked at all. ${doubts.length === 1 ? "1 thing stays" : `${doubts.length} things stay`} not certain, and the design will say so.`;
}

const SEPARATION = { words: "Point to a separation", take: "edge" };
const RIM = { words: "Give the rim by points", take: "rim" };
const BORE = { words: "Give the bore by points", take: "bore" };

/** Return what a person may do about a doubt: words, and edits, what to point to, or a field to fill in. */
export function waysOf(doubt, shown) {
  const { found, corrections: { values } } = shown;
  const hole = found.holes[doubt.number];
  const edge = found.edges[doubt.number];
  switch (doubt.about) {
    case "edge": return [{ words: "It is right", edits: () => confirmEdge(values, edge) }, { words: "It is none", edits: () => removeEdge(values, edge) }];
    case "left out": return [{ words: "It is a separation", edits: () => addEdge(values, found.left_out[doubt.number].dial) }];
    case "mark": return [
      { words: "It is a hole", edits: () => [...removeHole(values, hole), ...addHole(values, hole.at, hole.width)] },
      { words: "It is none", edits: () => removeHole(values, hole) }];
    case "index": return [{ words: "Point to a hole", take: "hole" }, { words: "It has no hole", edits: () => giveValue("remove_holes", true) }];
    case "rim": return [RIM];
    case "bore": case "circle": return [BORE];
    case "edges": case "zone": case "ring": return [SEPARATION];
    case "scale": return [{ words: "Fill in the diameter", field: "taken-diameter" }];
    case "light": return [{ words: "Fill in how the light fell", field: "taken-light" }];
    default: return [];
  }
}

/** Return how a doubt can be settled, in words. */
export function adviceOf(doubt) {
  if (doubt.about === "edge") return "Confirm it, drag it or turn it by the arrow keys to its place, or take it out.";
  if (doubt.about === "mark") return "Confirm it, drag it to its place, or take it out.";
  if (doubt.about === "left out") return "Take it in, or leave it out.";
  if (doubt.at) return "Look whether something is missing here.";
  return "This is not about one place.";
}

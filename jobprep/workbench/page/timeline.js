/** The cutting order of a sheet over its time: pure, no picture. All times are the server's, s. */

/**
 * @typedef {object} Timeline
 * @property {object[]} strokes
 * @property {number[]} ends  when each stroke is over
 * @property {number} total   when the head is home again
 */

/** Return the timeline of a sheet. @returns {Timeline} */
export function createTimeline({ strokes, home }) {
  let now = 0;
  const ends = strokes.map(({ times: [travel, pierce, run, back], passes }) => {
    now += travel + passes * (pierce + run) + (passes - 1) * back;
    return now;
  });
  return { strokes, ends, total: now + home };
}

/**
 * Return what the head does at a time: the number of the stroke from 0, that of all strokes once it
 * goes home; "travel", "pierce", "run", "back" or "rest"; and the share of that which is over.
 */
export function placeAt({ strokes, ends, total }, seconds) {
  if (seconds >= total) return { stroke: strokes.length, phase: "rest", share: 1 };
  let [low, high] = [0, strokes.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (ends[middle] > seconds) high = middle;
    else low = middle + 1;
  }
  const begun = low > 0 ? ends[low - 1] : 0;
  let left = Math.max(0, seconds) - begun;
  if (low === strokes.length) return { stroke: low, phase: "travel", share: left / (total - begun) };
  const { times: [travel, pierce, run, back], passes } = strokes[low];
  if (left < travel) return { stroke: low, phase: "travel", share: left / travel };
  left -= travel;
  const turn = pierce + run + back;
  const pass = turn > 0 ? Math.min(Math.floor(left / turn), passes - 1) : passes - 1;
  left -= pass * turn;
  if (left < pierce) return { stroke: low, phase: "pierce", share: left / pierce };
  left -= pierce;
  if (left < run || pass === passes - 1) return { stroke: low, phase: "run", share: run > 0 ? Math.min(1, left / run) : 1 };
  return { stroke: low, phase: "back", share: back > 0 ? Math.min(1, (left - run) / back) : 1 };
}

/** Return the time at which a stroke is over; 0 for -1. */
export const endOf = ({ ends, total }, stroke) => (stroke < 0 ? 0 : ends[stroke] ?? total);

/** Return a time in minutes and seconds. */
export function timeWords(seconds) {
  const whole = Math.round(seconds);
  return whole < 60 ? `${whole} s` : `${Math.floor(whole / 60)} min ${String(whole % 60).padStart(2, "0")} s`;
}

const KINDS = { mark: "engraved", inner: "inner cut", outer: "outer cut", trim: "straight cut that parts what is kept" };

/** Return in words where the head is; ``parts`` are those of the sheet, ``names`` by number. */
export function placeWords(line, seconds, parts, names) {
  const { stroke, phase } = placeAt(line, seconds);
  const time = `${timeWords(Math.min(seconds, line.total))} of ${timeWords(line.total)}`;
  if (phase === "rest") return `All ${line.strokes.length} cuts are done, ${time}`;
  if (stroke === line.strokes.length) return `On the way home, ${time}`;
  const { kind, part } = line.strokes[stroke];
  const of = parts[part] ? `part ${parts[part].number}, ${names.get(parts[part].number) ?? ""}, copy ${parts[part].copy}: ` : "";
  return `Cut ${stroke + 1} of ${line.strokes.length}, ${of}${KINDS[kind]}, ${time}`;
}

/** Plays the cutting order of a sheet in the time that the cutter takes, or a multiple of it. */
import { button, html, set } from "./elements.js";
import { createTimeline, endOf, placeAt, placeWords } from "./timeline.js";

const SPEEDS = [1, 5, 20, 100];
const USUAL = 20;
const STEPS = 200;

/** Return the controls of a stage: ``element``, and ``stop`` for when another takes its place. */
export function createPlayer(sheet, stage, names, name) {
  const line = createTimeline(sheet);
  const still = matchMedia("(prefers-reduced-motion: reduce)");
  let seconds = line.total;
  let isPlaying = false;
  let before = 0;
  let spoken = null;

  const grain = Math.max(0.1, Math.round((10 * line.total) / STEPS) / 10);
  const slider = html("input", {
    // Its last step reaches the end, or goes a little beyond it.
    type: "range", min: 0, max: grain * Math.ceil(line.total / grain), step: grain,
    "aria-label": `Time of cutting: ${name}`,
  });
  const words = html("p", { class: "note play-words" });
  const speed = html("select", {}, ...SPEEDS.map((each) => html("option", { value: each, selected: each === USUAL }, each === 1 ? "as the cutter" : `${each} times`)));
  const play = button("Play", () => (isPlaying ? stop() : begin()));
  const back = button("Back", () => go(endOf(line, placeAt(line, seconds - 1e-6).stroke - 1)));
  const next = button("Next", () => go(endOf(line, placeAt(line, seconds).stroke)));
  const quiet = html("p", { class: "note" }, "Your settings ask for less motion: nothing plays by itself. Move the slider, or go from cut to cut.");
  const element = html("div", {},
    html("div", { class: "play" }, back, play, next, slider, html("label", {}, "Speed", speed)), words, quiet);
  slider.addEventListener("input", () => go(Math.min(line.total, Number(slider.value))));
  still.addEventListener("change", settle);

  function settle() {
    if (still.matches) stop();
    set(play, "hidden", still.matches);
    set(speed.parentNode, "hidden", still.matches);
    set(quiet, "hidden", !still.matches);
  }

  function draw() {
    const place = placeAt(line, seconds);
    stage.draw(place);
    slider.value = seconds >= line.total ? slider.max : seconds;
    // Words change from cut to cut alone, so that nobody hears every picture.
    const key = isPlaying ? `${place.stroke} ${place.phase === "rest"}` : seconds;
    if (key === spoken) return;
    spoken = key;
    const told = placeWords(line, seconds, sheet.parts, names);
    set(words, "text", `${told}.`);
    set(slider, "aria-valuetext", told);
  }

  function go(to) {
    stop();
    seconds = Math.max(0, to);
    draw();
  }

  function begin() {
    if (seconds >= line.total) seconds = 0;
    isPlaying = true;
    before = 0;
    set(play, "text", "Pause");
    requestAnimationFrame(step);
  }

  function stop() {
    isPlaying = false;
    set(play, "text", "Play");
  }

  function step(at) {
    if (!isPlaying) return;
    seconds = Math.min(line.total, seconds + (before ? (at - before) / 1000 : 0) * Number(speed.value));
    before = at;
    if (seconds >= line.total) stop();
    draw();
    if (isPlaying) requestAnimationFrame(step);
  }

  settle();
  draw();
  return { element, stop };
}

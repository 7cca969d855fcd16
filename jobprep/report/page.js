"use strict";
// Plays the order in which parts come free, describes the part pointed at, folds sheets away on a
// phone, remembers ticks.
// Everything it shows is on the page already, so the page is whole without it.
(() => {
  const WHOLE_PLAY = 15000; // ms for all parts of a sheet
  const LEAST_STEP = 120; // ms for one part, not to blur
  const MOST_STEP = 700;

  // What the parts list says of a part, by the names of its columns.
  function listed(number) {
    const row = document.getElementById(`part-${number}`);
    const cells = row ? [...row.children] : [];
    return Object.fromEntries(cells.map((cell) => [cell.dataset.name, cell.textContent]));
  }

  function told(part, total) {
    const { order, part: number, copy } = part.dataset;
    const row = listed(number);
    const copies = row.Copies === "1" ? "" : `, copy ${copy} of ${row.Copies}`;
    const what = `Part ${number}, ${row.Part}${copies}. ${row.Film}, ${row.Size}.`;
    return `${what} Comes free as ${order} of ${total}.`;
  }

  function sheet(figure) {
    const player = figure.querySelector(".player");
    const drawing = figure.querySelector("svg.picture");
    const slider = player.querySelector("input");
    const detail = player.querySelector("output");
    const play = player.querySelector(".play");
    const parts = [...drawing.querySelectorAll("[data-order]")];
    const hint = detail.textContent;
    let timer = 0;

    function show() {
      const free = Number(slider.value);
      let words = free ? "" : `Nothing is cut yet; ${parts.length} parts to come.`;
      for (const part of parts) {
        const order = Number(part.dataset.order);
        part.classList.toggle("waiting", order > free);
        part.classList.toggle("now", order === free);
        if (order === free) words = told(part, parts.length);
      }
      detail.textContent = words;
      slider.setAttribute("aria-valuetext", `${free} of ${parts.length} parts are free`);
    }

    function stop() {
      clearInterval(timer);
      timer = 0;
      play.textContent = "Play";
    }

    function move(step) {
      slider.value = Number(slider.value) + step;
      show();
    }

    function start() {
      if (slider.value === slider.max) slider.value = 0;
      show();
      play.textContent = "Stop";
      const pause = Math.min(MOST_STEP, Math.max(LEAST_STEP, WHOLE_PLAY / parts.length));
      timer = setInterval(() => {
        move(1);
        if (slider.value === slider.max) stop();
      }, pause);
    }

    function point(event) {
      const part = event.target.closest("[data-order]");
      if (!part || timer) return;
      for (const other of parts) other.classList.toggle("pointed", other === part);
      detail.textContent = told(part, parts.length);
    }

    function leave(event) {
      if (event.pointerType === "touch" || timer) return;
      for (const part of parts) part.classList.remove("pointed");
      if (parts.some((part) => part.classList.contains("now"))) show();
      else detail.textContent = hint;
    }

    play.addEventListener("click", () => (timer ? stop() : start()));
    for (const button of player.querySelectorAll("[data-step]")) {
      button.addEventListener("click", () => {
        stop();
        move(Number(button.dataset.step));
      });
    }
    slider.addEventListener("input", () => {
      stop();
      show();
    });
    player.addEventListener("keydown", (event) => {
      const step = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
      if (!step || event.target === slider) return;
      event.preventDefault();
      stop();
      move(step);
    });
    drawing.addEventListener("pointerover", point);
    drawing.addEventListener("click", point);
    drawing.addEventListener("pointerleave", leave);
    player.hidden = false;
  }

  // A browser may refuse a page its storage; ticks then last as long as the page is open.
  function remembered(key) {
    try {
      const found = JSON.parse(localStorage.getItem(key) ?? "[]");
      return new Set(Array.isArray(found) ? found : []);
    } catch {
      return new Set();
    }
  }

  function remember(key, ticked) {
    try {
      if (ticked.length) localStorage.setItem(key, JSON.stringify(ticked));
      else localStorage.removeItem(key);
      return true;
    } catch {
      return false;
    }
  }

  function ticks(main) {
    const key = `job-sheet-ticks-${main.dataset.run}`;
    const boxes = [...main.querySelectorAll("input[type=checkbox]")];
    const bar = main.querySelector(".ticks");
    const count = bar.querySelector("output");

    function keep() {
      const ticked = boxes.filter((box) => box.checked).map((box) => box.id);
      const kept = remember(key, ticked);
      const where = kept ? "remembered on this device" : "until this page is closed";
      count.textContent = `${ticked.length} of ${boxes.length} ticked, ${where}.`;
    }

    const before = remembered(key);
    for (const box of boxes) box.checked = before.has(box.id);
    keep();
    main.addEventListener("change", (event) => {
      if (event.target.type === "checkbox") keep();
    });
    bar.querySelector("button").addEventListener("click", () => {
      if (!confirm("Clear all ticks of this job?")) return;
      for (const box of boxes) box.checked = false;
      keep();
    });
    bar.hidden = false;
  }

  // On a phone a sheet is one line until it is asked for; paper gets all.
  function fold(folds) {
    const folded = new Set();
    if (matchMedia("(max-width: 52rem)").matches) for (const each of folds) each.open = false;
    addEventListener("beforeprint", () => {
      for (const each of folds) {
        if (!each.open) folded.add(each);
        each.open = true;
      }
    });
    addEventListener("afterprint", () => {
      for (const each of folded) each.open = false;
      folded.clear();
    });
  }

  const main = document.querySelector("main");
  fold([...main.querySelectorAll("details.fold")]);
  for (const figure of main.querySelectorAll("figure.sheet")) sheet(figure);
  if (main.querySelector(".ticks")) ticks(main);
  document.documentElement.dataset.script = "ready";
})();

"use strict";
// Only in a page that `jobprep plan --watch` hands out: shows the new page when there is one, and
// says what keeps it from coming.
(() => {
  const line = document.createElement("p");
  line.className = "live";
  line.setAttribute("role", "status");
  document.body.append(line);

  function say(words) {
    line.textContent = words;
    line.hidden = !words;
  }

  const changes = new EventSource("changes");
  changes.addEventListener("message", (event) => {
    const { page, words } = JSON.parse(event.data);
    if (page !== document.body.dataset.page) location.reload();
    else say(words);
  });
  changes.addEventListener("error", () => {
    say("Not watched any more: the command that kept this page current has ended.");
  });
  say("");
})();

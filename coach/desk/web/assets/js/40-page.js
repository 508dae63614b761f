// Small things of single pages that work without scripts too, only less
// comfortably.
(function () {
  const faults = document.querySelector("[data-focus]");
  if (faults) faults.focus();

  for (const b of document.querySelectorAll("[data-print]")) {
    b.hidden = false;
    b.addEventListener("click", () => print());
  }

  for (const b of document.querySelectorAll("[data-play-alarm]")) {
    b.hidden = false;
    b.addEventListener("click", () => evenbell.alarm && evenbell.alarm.once());
  }

  // Twice pressed is once meant.
  document.addEventListener("submit", e => {
    if (e.target.dataset.sent && Date.now() - Number(e.target.dataset.sent) < 3000) e.preventDefault();
    else e.target.dataset.sent = String(Date.now());
  });
})();

// Live news: the desk sends each block of the page that has changed. After a
// break the browser asks again with what it saw last, and gets what is new.
(function () {
  const body = document.body;
  if (body.dataset.live === undefined || !window.EventSource) return;
  const quietAfter = 12000, loudAfter = 60000; // ms without news from the desk
  const at = "/live?page=" + encodeURIComponent(body.dataset.live) + "&at=" + encodeURIComponent(location.pathname + location.search);
  const shown = new Set(), waiting = new Map();
  let holdUntil = 0, soon = null;
  let source = null, heard = Date.now(), ahead = 0, noticed = false, again = null, over = false;

  function open() {
    clearTimeout(again);
    source = new EventSource(at);
    source.addEventListener("block", e => {
      news();
      const b = JSON.parse(e.data);
      waiting.set(b.name, b.html);
      show();
    });
    source.addEventListener("beat", e => {
      news();
      ahead = Number(e.data) - Date.now();
      report();
    });
    source.addEventListener("over", () => {
      source.close();
      over = true;
      document.getElementById("login-over").hidden = false;
    });
    source.addEventListener("error", () => {
      if (source.readyState === EventSource.CLOSED && !over) again = setTimeout(open, 2000);
    });
  }

  // What is being pressed does not move away under the finger; but no finger
  // keeps news back for long.
  function show() {
    clearTimeout(soon);
    if (!waiting.size) return;
    if (Date.now() < holdUntil) {
      soon = setTimeout(show, 100);
      return;
    }
    for (const [name, html] of waiting) {
      for (const block of document.querySelectorAll('[data-block="' + name + '"]')) evenbell.morph(block, html);
    }
    waiting.clear();
    after();
  }

  function news() {
    heard = Date.now();
    noticed = false;
  }

  function after() {
    tick();
    requestAnimationFrame(() => requestAnimationFrame(report));
    loud();
  }

  function loud() {
    const lost = Date.now() - heard > loudAfter && !noticed && !over;
    if (evenbell.alarm) evenbell.alarm.want(lost || !!document.querySelector("[data-loud]"));
  }

  // The desk keeps when an attention first stood on a page that somebody can
  // see.
  function report() {
    if (document.visibilityState !== "visible") return;
    for (const n of document.querySelectorAll("[data-shown]")) {
      const id = n.dataset.shown;
      if (shown.has(id)) continue;
      shown.add(id);
      fetch("/attentions/" + id + "/shown", { method: "POST" }).then(r => { if (!r.ok) shown.delete(id); }, () => shown.delete(id));
    }
  }

  // Clocks run here, so that the desk need not send a page a second.
  function tick() {
    const now = Date.now() + ahead;
    for (const n of document.querySelectorAll("[data-since]")) put(n, span(now - Number(n.dataset.since)));
    for (const n of document.querySelectorAll("[data-until]")) {
      const left = Number(n.dataset.until) - now;
      put(n, left > 0 ? down(left) : n.dataset.over || "0:00");
    }
    const silent = Date.now() - heard;
    const note = document.getElementById("lost-desk");
    if (note) {
      note.hidden = over || silent < quietAfter;
      if (!note.hidden) put(note.querySelector("[data-lost-since]"), new Date(heard).toLocaleTimeString());
    }
    loud();
  }
  function put(n, words) { if (n && n.textContent !== words) n.textContent = words; }
  function span(ms) {
    const s = Math.max(0, Math.floor(ms / 1000));
    if (s < 60) return s + " s";
    if (s < 3600) return Math.floor(s / 60) + " min";
    if (s < 172800) return Math.floor(s / 3600) + " h " + Math.floor(s % 3600 / 60) + " min";
    return Math.floor(s / 86400) + " days";
  }
  function down(ms) {
    const s = Math.ceil(ms / 1000);
    return Math.floor(s / 60) + ":" + String(s % 60).padStart(2, "0");
  }

  document.addEventListener("pointerdown", () => { holdUntil = Date.now() + 700; });
  for (const kind of ["pointerup", "pointercancel"]) document.addEventListener(kind, () => { holdUntil = Math.min(holdUntil, Date.now() + 50); });
  const note = document.getElementById("lost-seen");
  if (note) note.addEventListener("click", () => { noticed = true; loud(); });
  document.addEventListener("visibilitychange", report);
  addEventListener("pagehide", () => source && source.close());
  addEventListener("pageshow", e => { if (e.persisted) open(); });
  open();
  after();
  setInterval(tick, 1000);
})();

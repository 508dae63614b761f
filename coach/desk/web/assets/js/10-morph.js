// Makes a block of the page what the desk says it is, changing only what
// differs: what somebody typed, opened or holds the focus on stays.
"use strict";
const evenbell = {};

evenbell.morph = function (block, html) {
  const fresh = new DOMParser().parseFromString("<body>" + html + "</body>", "text/html").body;
  children(block, fresh);

  function children(old, fresh) {
    const keyed = new Map();
    for (const n of old.children) if (n.dataset.key) keyed.set(n.dataset.key, n);
    let at = old.firstChild;
    for (const want of Array.from(fresh.childNodes)) {
      const key = want.nodeType === 1 && want.dataset.key;
      let have = key ? keyed.get(key) : at;
      if (key && have && have !== at) old.insertBefore(have, at);
      if (!key && have && have.nodeType === 1 && have.dataset.key) have = null;
      if (have && have.nodeType === want.nodeType && have.nodeName === want.nodeName) {
        node(have, want);
        at = have.nextSibling;
      } else {
        old.insertBefore(document.importNode(want, true), at);
      }
    }
    while (at) {
      const next = at.nextSibling;
      if (!holdsFocus(at)) at.remove(); else leave(at);
      at = next;
    }
  }

  function node(old, fresh) {
    if (old.nodeType !== 1) {
      if (old.nodeValue !== fresh.nodeValue) old.nodeValue = fresh.nodeValue;
      return;
    }
    if (old.dataset.since && old.dataset.since === fresh.dataset.since) return; // a running clock
    for (const a of Array.from(old.attributes)) {
      if (!fresh.hasAttribute(a.name) && a.name !== "open") old.removeAttribute(a.name);
    }
    for (const a of Array.from(fresh.attributes)) {
      if (old.getAttribute(a.name) !== a.value) old.setAttribute(a.name, a.value);
    }
    if (old.nodeName !== "TEXTAREA") children(old, fresh);
  }

  // Where the focus was on something that is gone, it goes to the nearest thing
  // that stays, so that a keyboard is not thrown to the top of the page.
  function holdsFocus(n) { return n.nodeType === 1 && n.contains(document.activeElement); }
  function leave(n) {
    const stay = block.closest("[tabindex]") || document.getElementById("main");
    n.remove();
    if (stay) stay.focus({ preventScroll: true });
  }
};

// The margin's working: lines opened in place, the way back through what was looked at, and the same working anew after an edit.
"use strict";
(() => {
  const MOST = 60;
  const seen = [];
  let here = -1;
  let from = null; // the figure by which the working was opened with the keyboard
  const margin = () => document.getElementById("working");
  const told = () => margin()?.querySelector("[data-working]");
  const at = (path) => new URL("../" + path, document.baseURI).href;
  const asked = (element) => {
    const of = element.dataset.of;
    return of ? "of=" + encodeURIComponent(of) : "";
  };
  const address = (id, more) => at("working/" + encodeURIComponent(id)) + (more ? "?" + more : "");
  const get = (url) => htmx.ajax("GET", url, { source: document.body, swap: "none" });

  // ---------------------------------------------------------------------------------------------------- the way back
  const same = (one, other) => one && other && one.id === other.id && one.of === other.of;
  function noted() {
    const now = told();
    if (!now) return;
    const entry = { id: now.dataset.working, of: now.dataset.of || "" };
    if (!same(seen[here], entry)) {
      seen.splice(here + 1, seen.length, entry);
      if (seen.length > MOST) seen.shift();
      here = seen.length - 1;
    }
    const trail = now.querySelector(".trail");
    if (!trail) return;
    trail.hidden = seen.length < 2;
    for (const button of trail.querySelectorAll("[data-trail]")) button.disabled = !seen[here + Number(button.dataset.trail)];
  }
  function stepped(by) {
    if (!seen[here + by]) return;
    here += by;
    const { id, of } = seen[here];
    get(address(id, of ? "of=" + encodeURIComponent(of) : ""));
  }

  // ------------------------------------------------------------------------------------------------ lines in the tree
  const isOpen = (button) => button.getAttribute("aria-expanded") === "true";
  function opened(id) {
    return [...(margin()?.querySelectorAll('[data-turn][aria-expanded="true"]') || [])].filter((one) => one.dataset.turn === id);
  }
  function turned(button, open) {
    if (isOpen(button) === open) return;
    const below = button.closest("li").querySelector(":scope > .below");
    const already = open && opened(button.dataset.turn)[0];
    button.setAttribute("aria-expanded", String(open));
    below.replaceChildren();
    if (!open) return;
    if (already) {
      const words = document.createElement("p");
      words.className = "quiet";
      words.textContent = "opened further up already";
      below.append(words);
      return;
    }
    const whole = button.closest("[data-working]");
    htmx.ajax("GET", address(button.dataset.turn, "level=1&" + asked(whole || button)), { source: button, target: below, swap: "innerHTML" });
  }

  document.addEventListener("click", (event) => {
    const target = event.target instanceof Element ? event.target : null;
    const button = target?.closest("[data-turn]");
    const way = target?.closest("[data-trail]");
    const figure = target?.closest("[data-figure]");
    if (button) turned(button, !isOpen(button));
    if (way) stepped(Number(way.dataset.trail));
    if (figure && event.detail === 0 && !figure.closest("#working")) from = figure;
  });
  document.addEventListener("keydown", (event) => {
    const button = event.target instanceof Element ? event.target.closest("[data-turn]") : null;
    if (!button || event.altKey || event.ctrlKey || event.metaKey) return;
    if (event.key === "ArrowRight") turned(button, true);
    else if (event.key === "ArrowLeft") turned(button, false);
    else return;
    event.preventDefault();
  });
  // Figures of a tracing, and a list told whole, have more in their address than the figure's name.
  document.addEventListener(
    "click",
    (event) => {
      const link = event.target instanceof Element ? event.target.closest("a[data-of], a[data-whole]") : null;
      if (!link || event.ctrlKey || event.metaKey || event.button !== 0) return;
      event.preventDefault();
      event.stopImmediatePropagation();
      get(link.href);
    },
    true,
  );

  // ------------------------------------------------------------------------------------------------ after every change
  // A line of the brief keeps its own words (form.js); a pin that is being written does so by being left alone.
  function writing() {
    const lines = margin().querySelectorAll(".pin input");
    return [...lines].some((line) => line.type !== "hidden" && line.value !== line.defaultValue);
  }
  let edit = null;
  function again() {
    const now = told();
    if (!now || writing()) return;
    const open = [...new Set([...margin().querySelectorAll('[data-turn][aria-expanded="true"]')].map((one) => one.dataset.turn))];
    const asks = open.slice(0, 100).map((one) => "open=" + encodeURIComponent(one));
    get(address(now.dataset.working, ["again=1", asked(now), ...asks].filter(Boolean).join("&")));
  }
  function looked() {
    const block = document.getElementById("title-block");
    const stamp = (block?.dataset.stamp || "") + (document.getElementById("state-line")?.dataset.stamp || "");
    if (edit !== null && stamp !== edit) again();
    edit = stamp;
    noted();
    if (from && told()) {
      from = null;
      margin().focus({ preventScroll: false });
    }
  }
  let waiting = 0;
  new MutationObserver(() => {
    if (waiting) return;
    waiting = setTimeout(() => {
      waiting = 0;
      looked();
    }, 0);
  }).observe(document.documentElement, { subtree: true, childList: true, attributes: true, attributeFilter: ["data-stamp", "data-working"] });
  looked();
})();

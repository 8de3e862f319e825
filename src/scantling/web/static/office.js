// What every sheet needs: workings on touch, only what differs fetched, word from the office, the look.
"use strict";
(() => {
  const base = new URL("../", document.baseURI);
  const at = (path) => new URL(path, base).href;
  const shown = () => document.body.dataset.sheet;

  function had() {
    const stamps = {};
    for (const part of document.querySelectorAll("[data-stamp]")) stamps[part.id] = part.dataset.stamp;
    return JSON.stringify(stamps);
  }

  document.addEventListener("htmx:config:request", (event) => {
    const headers = event.detail.ctx.request.headers;
    headers["X-Sheet"] = encodeURIComponent(shown());
    headers["X-Had"] = had();
    headers["X-Query"] = location.search;
    if (event.detail.ctx.request.method !== "GET") acts += 1;
    event.detail.ctx.acts = acts;
  });

  // Two answers may cross on their way. What is shown already stays, with what is being typed in it; and a redraw that was asked
  // for before something was done may be older than what is shown: it is asked for anew.
  let acts = 0;
  const shownAlready = (task) => {
    const stamp = task.type === "partial" && task.target?.id !== "working" && task.fragment.firstElementChild?.dataset.stamp;
    return Boolean(stamp) && task.target?.dataset.stamp === stamp;
  };
  document.addEventListener("htmx:before:swap", (event) => {
    const { ctx, tasks } = event.detail;
    if (ctx.request?.action === at("redraw") && ctx.acts !== acts) {
      event.preventDefault();
      redraw();
      return;
    }
    for (const task of tasks.filter(shownAlready)) tasks.splice(tasks.indexOf(task), 1);
  });

  function refused(words) {
    const line = document.getElementById("said");
    if (!line) return;
    line.setAttribute("role", "alert");
    delete line.dataset.stamp;
    line.className = "pencil";
    line.textContent = words;
  }
  document.addEventListener("htmx:error", () => refused("The drawing office does not answer. If it was closed, open it again with scantling open."));
  document.addEventListener("htmx:response:error", (event) => {
    const { ctx } = event.detail;
    if (ctx.response.status >= 400 && !ctx.text.includes("<hx-partial")) refused(ctx.text.slice(0, 400));
  });

  // -------------------------------------------------------------------------------------------------------- workings
  function opened(id) {
    htmx.ajax("GET", at("working/" + id.split("/").map(encodeURIComponent).join("/")), { source: document.body, swap: "none" });
  }
  // On a narrow screen the margin lies below the sheet: what was asked for comes into sight.
  const narrow = matchMedia("(max-width: 860px)");
  document.addEventListener("htmx:after:swap", (event) => {
    if (!narrow.matches || !(event.detail.ctx.text || "").startsWith('<hx-partial hx-target="#working"')) return;
    document.getElementById("working").parentNode.scrollIntoView({ block: "start" });
  });
  const figureOf = (event) => {
    const found = event.target.closest("[data-figure]");
    return found && !found.closest("[data-own-touch]") ? found : null;
  };
  document.addEventListener("click", (event) => {
    const figure = figureOf(event);
    if (!figure || event.ctrlKey || event.metaKey || event.button !== 0) return;
    event.preventDefault();
    opened(figure.dataset.figure);
  });
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape") document.getElementById("sheet").focus({ preventScroll: true });
  });

  // ------------------------------------------------------------------------------------------------- word from the office
  let waiting = null;
  function redraw() {
    if (waiting) return;
    waiting = setTimeout(() => {
      waiting = null;
      htmx.ajax("GET", at("redraw"), { source: document.body, swap: "none" });
    }, 5);
  }
  let first = true;
  function listen() {
    const source = new EventSource(at("events"));
    source.addEventListener("redraw", (event) => {
      const same = first && event.data === document.body.dataset.serial;
      first = false;
      if (!same) redraw();
    });
    source.addEventListener("work", redraw);
    source.addEventListener("count", (event) => {
      const count = document.getElementById("count");
      if (count) count.textContent = ", " + event.data + " sets looked at";
    });
    source.addEventListener("closed", () => {
      source.close();
      refused("The drawing office was closed. Open it again with scantling open.");
    });
    addEventListener("pagehide", () => source.close());
  }

  // ------------------------------------------------------------------------------------------------------------- looks
  function kept(name, value) {
    document.cookie = name + "=" + value + "; path=" + base.pathname + "; samesite=strict";
    location.reload();
  }
  document.addEventListener("click", (event) => {
    const look = event.target.closest("[data-set-look]");
    const layer = event.target.closest("[data-set-layer]");
    if (look) kept("look", look.dataset.setLook);
    if (layer) kept("layer", layer.dataset.setLayer);
  });

  // ------------------------------------------------------------------------------------------------------- undo by keys
  const writing = (target) => target.closest("input, textarea, select, [contenteditable]");
  document.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.altKey || writing(event.target)) return;
    const key = event.key.toLowerCase();
    const way = key === "z" ? (event.shiftKey ? "redo" : "undo") : key === "y" ? "redo" : "";
    if (!way) return;
    event.preventDefault();
    htmx.ajax("POST", at(way), { source: document.body, swap: "none" });
  });

  listen();
})();

// Drawings that can be touched: keys from thing to thing, slips, size and place of the picture, parts moved in the cabinet.
"use strict";
(() => {
  const base = new URL("../", document.baseURI);
  const at = (path) => new URL(path, base).href;
  const path = (touch) => touch.split("/").map(encodeURIComponent).join("/");
  const drawingOf = (node) => (node instanceof Element ? node.closest("[data-drawing]") : null);
  const shownDrawing = () => document.querySelector("[data-drawing]");
  const windowOf = (drawing) => drawing.querySelector(".drawing-window");
  const sheetOf = (drawing) => drawing.querySelector(".drawing-sheet");
  const svgOf = (drawing) => sheetOf(drawing).querySelector("svg");

  // -------------------------------------------------------------------------------------------------- what was touched
  async function ask(touch, byKeys = false) {
    await htmx.ajax("GET", at("touch/" + path(touch)), { source: document.body, swap: "none" });
    const slip = document.querySelector("#working [data-slip]");
    if (byKeys && slip && slip.dataset.slip === touch) document.getElementById("working").focus();
  }

  document.addEventListener("click", (event) => {
    if (event.ctrlKey || event.metaKey || event.button !== 0) return;
    if (event.target.closest("[data-figure]")) return;
    const thing = event.target.closest("[data-touch]");
    if (!thing) return;
    event.preventDefault();
    ask(thing.dataset.touch);
    const place = thing.querySelector(".touch") || (thing.classList.contains("touch") ? thing : null);
    if (place && drawingOf(place)) settle(place);
  });

  // --------------------------------------------------------------------------------------------- keys from thing to thing
  const reachable = (svg) => [...svg.querySelectorAll(".touch")].filter((node) => node.checkVisibility({ visibilityProperty: true }));

  function settle(node) {
    const svg = node.closest("svg");
    for (const other of svg.querySelectorAll('.touch[tabindex="0"]')) other.setAttribute("tabindex", "-1");
    node.setAttribute("tabindex", "0");
  }

  function reach(node) {
    settle(node);
    node.focus({ preventScroll: true });
    show(node);
  }

  function show(node) {
    const view = windowOf(drawingOf(node));
    const box = node.getBoundingClientRect();
    const frame = view.getBoundingClientRect();
    const edge = 16;
    const past = (low, high, from, to) => (low < from + edge ? low - from - edge : high > to - edge ? high - to + edge : 0);
    view.scrollLeft += past(box.left, box.right, frame.left, frame.right);
    view.scrollTop += past(box.top, box.bottom, frame.top, frame.bottom);
  }

  const AWAY = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

  function middle(node) {
    const box = node.getBoundingClientRect();
    return [box.left + box.width / 2, box.top + box.height / 2];
  }

  // The nearest thing in a direction: what lies aside counts double, so that rows and columns are followed.
  function nearest(from, way, svg) {
    const [x, y] = middle(from);
    let best = null;
    let least = Infinity;
    for (const node of reachable(svg)) {
      if (node === from) continue;
      const [left, top] = middle(node);
      const along = (left - x) * way[0] + (top - y) * way[1];
      const aside = Math.abs((left - x) * way[1]) + Math.abs((top - y) * way[0]);
      if (along <= 0.5 || aside > along * 4 + 4) continue;
      const far = along + 2 * aside;
      if (far < least) [best, least] = [node, far];
    }
    return best;
  }

  function touch(node) {
    const figure = node.closest("[data-figure]");
    if (figure) figure.dispatchEvent(new MouseEvent("click", { bubbles: true, cancelable: true }));
    else ask(node.closest("[data-touch]").dataset.touch, true);
  }

  function onThing(event, node) {
    const svg = node.closest("svg");
    const things = () => reachable(svg);
    const way = AWAY[event.key];
    if (way && event.shiftKey) return scroll(drawingOf(node), way);
    if (way) {
      const next = nearest(node, way, svg);
      if (next) reach(next);
      return true;
    }
    if (event.key === "Home") reach(things()[0]);
    else if (event.key === "End") reach(things().at(-1));
    else if (event.key === "Enter" || event.key === " ") touch(node);
    else if (event.key === "m" || event.key === "M") return lift(partOf(node));
    else return false;
    return true;
  }

  function scroll(drawing, way) {
    windowOf(drawing).scrollBy(way[0] * 80, way[1] * 80);
    return true;
  }

  const SIZES = { "+": "in", "=": "in", "-": "out", 0: "fit", 1: "true" };

  document.addEventListener("keydown", (event) => {
    const drawing = drawingOf(event.target);
    if (!drawing || event.ctrlKey || event.metaKey || event.altKey) return;
    const node = event.target.closest("svg .touch");
    let done = node ? onThing(event, node) : false;
    if (!done && SIZES[event.key] && !event.target.closest("input, select, textarea")) {
      size(drawing, SIZES[event.key]);
      done = true;
    }
    if (done) event.preventDefault();
  });

  // ------------------------------------------------------------------------------------------------------ size and place
  const STEP = 1.25;
  const LARGEST = 12;
  const MM = 96 / 25.4;
  // A size of null is the first one, which the stylesheet finds: whole where that can be read, else full width.
  const kept = (number) => JSON.parse(sessionStorage.getItem("drawing " + number) || '{"size":null,"whole":false,"left":0,"top":0}');
  const keep = (drawing, more) => {
    const view = windowOf(drawing);
    const now = { ...kept(drawing.dataset.drawing), left: view.scrollLeft, top: view.scrollTop, ...more };
    sessionStorage.setItem("drawing " + drawing.dataset.drawing, JSON.stringify(now));
    return now;
  };
  const sizeOf = (drawing) => kept(drawing.dataset.drawing).size || sheetOf(drawing).offsetWidth / windowOf(drawing).clientWidth;

  function wideAsDrawn(drawing) {
    const whole = parseFloat(svgOf(drawing).getAttribute("width")) * MM;
    return kept(drawing.dataset.drawing).whole ? whole : whole * (sheetOf(drawing).offsetWidth / svgOf(drawing).clientWidth);
  }

  function apply(drawing) {
    const now = kept(drawing.dataset.drawing);
    const sheet = sheetOf(drawing);
    sheet.classList.toggle("whole", now.whole);
    sheet.style.width = now.size === null ? "" : now.size * 100 + "%";
    const toggle = drawing.querySelector('[data-zoom="sheet"]');
    toggle.setAttribute("aria-pressed", String(now.whole));
    toldSize(drawing);
  }

  function toldSize(drawing) {
    drawing.querySelector("[data-zoom-told]").textContent = Math.round(sizeOf(drawing) * 100) + " %";
  }
  const resized = new ResizeObserver(() => shownDrawing() && toldSize(shownDrawing()));

  // Another size about a point of the window, which stays where it is.
  function sized(drawing, wanted, point) {
    const view = windowOf(drawing);
    const before = sizeOf(drawing);
    const after = Math.min(LARGEST, Math.max(0.2, wanted));
    const [x, y] = point || [view.clientWidth / 2, view.clientHeight / 2];
    const [left, top] = [(view.scrollLeft + x) * (after / before) - x, (view.scrollTop + y) * (after / before) - y];
    keep(drawing, { size: Math.abs(after - 1) < 0.02 ? 1 : after });
    apply(drawing);
    view.scrollTo(left, top);
    keep(drawing, {});
  }

  function size(drawing, way) {
    const now = sizeOf(drawing);
    if (way === "in") sized(drawing, now * STEP);
    else if (way === "out") sized(drawing, now / STEP);
    else if (way === "fit") sized(drawing, 1);
    else if (way === "all") sized(drawing, Math.min(1, (now * windowOf(drawing).clientHeight) / sheetOf(drawing).offsetHeight));
    else if (way === "true") sized(drawing, wideAsDrawn(drawing) / windowOf(drawing).clientWidth);
    else {
      keep(drawing, { whole: !kept(drawing.dataset.drawing).whole });
      apply(drawing);
    }
  }

  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-zoom]");
    if (button) size(drawingOf(button), button.dataset.zoom);
    if (event.target.closest("[data-print]")) window.print();
    const move = event.target.closest("[data-move-part]");
    if (move && shownDrawing()) lift(frontOf(shownDrawing(), move.dataset.movePart));
  });

  document.addEventListener(
    "wheel",
    (event) => {
      const view = event.target instanceof Element && event.target.closest(".drawing-window");
      if (!view || !(event.ctrlKey || event.metaKey)) return;
      event.preventDefault();
      const frame = view.getBoundingClientRect();
      const drawing = drawingOf(view);
      const factor = Math.exp(-event.deltaY / 300);
      sized(drawing, sizeOf(drawing) * factor, [event.clientX - frame.left, event.clientY - frame.top]);
    },
    { passive: false },
  );

  // ------------------------------------------------------------------------- by hand: pulled paper, two fingers, a part carried
  const fingers = new Map();
  let hand = null;
  let spread = 0;

  document.addEventListener("pointerdown", (event) => {
    const view = event.target instanceof Element && event.target.closest(".drawing-window");
    if (!view || event.button !== 0) return;
    fingers.set(event.pointerId, event);
    if (fingers.size > 1) {
      hand = null;
      spread = 0;
      return;
    }
    const part = event.target.closest('[data-units] [data-part="front"][data-slug]');
    hand = { view, part, from: event, left: view.scrollLeft, top: view.scrollTop, begun: false };
  });

  document.addEventListener("pointermove", (event) => {
    if (fingers.has(event.pointerId)) fingers.set(event.pointerId, event);
    if (fingers.size === 2) return pinch();
    if (!hand || event.pointerId !== hand.from.pointerId) return;
    const [across, down] = [event.clientX - hand.from.clientX, event.clientY - hand.from.clientY];
    if (!hand.begun && Math.hypot(across, down) < 5) return;
    if (!hand.begun) begin(event);
    if (moving) carried(down);
    else if (event.pointerType !== "touch") hand.view.scrollTo(hand.left - across, hand.top - down);
  });

  // A finger on a part carries it; anywhere else it pulls the paper, as fingers do on every page.
  document.addEventListener("touchmove", (event) => hand && hand.part && event.cancelable && event.preventDefault(), { passive: false });

  function begin(event) {
    hand.begun = true;
    if (hand.part) lift(hand.part, true);
    else hand.view.classList.add("pulled");
    if (event.pointerType !== "touch" || hand.part) hand.view.setPointerCapture(event.pointerId);
  }

  function pinch() {
    const [one, other] = [...fingers.values()];
    const apart = Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY);
    const view = one.target.closest(".drawing-window");
    if (!view) return;
    const drawing = drawingOf(view);
    const frame = view.getBoundingClientRect();
    const point = [(one.clientX + other.clientX) / 2 - frame.left, (one.clientY + other.clientY) / 2 - frame.top];
    if (spread) sized(drawing, sizeOf(drawing) * (apart / spread), point);
    spread = apart;
  }

  function released(event) {
    fingers.delete(event.pointerId);
    spread = 0;
    if (!hand || event.pointerId !== hand.from.pointerId) return;
    const { begun, view } = hand;
    hand = null;
    view.classList.remove("pulled");
    if (!begun) return;
    window.addEventListener("click", (click) => click.stopPropagation(), { capture: true, once: true });
    setTimeout(() => window.dispatchEvent(new MouseEvent("click")), 0);
    if (moving && event.type === "pointerup") down();
    else if (moving) leave();
    else keep(drawingOf(view), {});
  }
  document.addEventListener("pointerup", released);
  document.addEventListener("pointercancel", released);

  // ------------------------------------------------------------------------------------------ a part at another height
  let moving = null;
  const frontOf = (drawing, slug) => drawing.querySelector(`[data-part="front"][data-slug="${CSS.escape(slug)}"]`);

  function partOf(node) {
    const thing = node.closest("[data-slug]");
    return thing ? frontOf(drawingOf(node), thing.dataset.slug) : null;
  }

  function lift(front, byHand = false) {
    const drawing = front && drawingOf(front);
    if (!drawing || !drawing.dataset.units) return false;
    const [left, top, right, bottom] = front.dataset.box.split(" ").map(Number);
    const [lowest, height] = [Number(front.dataset.lowest), Number(front.dataset.height)];
    const ghost = document.createElementNS("http://www.w3.org/2000/svg", "rect");
    for (const [name, value] of Object.entries({ class: "ghost", x: left, y: top, width: right - left, height: bottom - top })) ghost.setAttribute(name, value);
    svgOf(drawing).append(ghost);
    moving = { drawing, front, ghost, top, lowest, height, now: lowest, pitch: (bottom - top) / height, most: Number(drawing.dataset.units) - height + 1 };
    if (!byHand) reach(front.querySelector(".touch"));
    told();
    return true;
  }

  function place(unit) {
    moving.now = Math.min(moving.most, Math.max(1, unit));
    moving.ghost.setAttribute("y", moving.top - (moving.now - moving.lowest) * moving.pitch);
    told();
  }

  function carried(pixels) {
    const scale = svgOf(moving.drawing).getScreenCTM().d;
    place(moving.lowest - Math.round(pixels / scale / moving.pitch));
  }

  function under() {
    const high = moving.now + moving.height - 1;
    const others = [...moving.drawing.querySelectorAll('[data-part="front"][data-slug]')].filter((one) => one !== moving.front);
    const hit = others.filter((one) => Number(one.dataset.lowest) <= high && Number(one.dataset.lowest) + Number(one.dataset.height) > moving.now);
    return hit.map((one) => one.querySelector(".touch").getAttribute("aria-label").split(", unit")[0]);
  }

  function told() {
    const high = moving.now + moving.height - 1;
    const units = moving.height === 1 ? "unit " + moving.now : "units " + moving.now + " to " + high;
    const clash = under();
    moving.ghost.classList.toggle("clash", clash.length > 0);
    const what = clash.length ? "; already there: " + clash.join(", ") : "";
    say(moving.drawing, units + what + ". Enter puts it down, Escape leaves it where it was.");
  }

  function say(drawing, words) {
    drawing.querySelector("[data-drawing-told]").textContent = words;
  }

  function movingKey(event) {
    if (event.key === "ArrowUp") place(moving.now + 1);
    else if (event.key === "ArrowDown") place(moving.now - 1);
    else if (event.key === "Home") place(1);
    else if (event.key === "End") place(moving.most);
    else if (event.key === "Enter") down();
    else if (event.key === "Escape" || event.key === "Tab") leave();
    else return;
    if (event.key !== "Tab") event.preventDefault();
    event.stopImmediatePropagation();
  }

  window.addEventListener("keydown", (event) => moving && movingKey(event), true); // before anybody else hears of Escape

  function leave() {
    say(moving.drawing, "It stays where it was.");
    moving.ghost.remove();
    moving = null;
  }

  function down() {
    const { now, lowest, front, drawing } = moving;
    if (now === lowest) return leave();
    say(drawing, "Being moved.");
    const part = front.dataset.slug;
    moving.ghost.classList.add("put");
    moving = null;
    htmx.ajax("POST", at("move"), { source: document.body, swap: "none", values: { part, unit: String(now) } });
  }

  // -------------------------------------------------------------------------- a drawing sent again keeps its size and focus
  const seen = new WeakSet();
  let first = true;
  let focused = null;
  let back = null;

  document.addEventListener("focusin", (event) => {
    const node = event.target instanceof Element && event.target.closest("svg .touch");
    focused = node ? keyOf(node) : null;
    back = focused || back;
  });

  // Escape in the margin leads back to the thing that was touched.
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || !back || !event.target.closest(".margin") || !shownDrawing()) return;
    const node = sameAs(shownDrawing(), back);
    if (node) setTimeout(() => reach(node), 0);
  });

  function keyOf(node) {
    const thing = node.closest("[data-figure], [data-touch]");
    const name = thing.dataset.figure ? "figure" : "touch";
    const same = [...node.closest("svg").querySelectorAll(`[data-${name}="${CSS.escape(thing.dataset[name])}"]`)];
    return { name, value: thing.dataset[name], place: same.indexOf(thing) };
  }

  function again(drawing) {
    apply(drawing);
    const now = kept(drawing.dataset.drawing);
    windowOf(drawing).scrollTo(now.left, now.top);
    windowOf(drawing).addEventListener("scroll", () => keep(drawing, {}), { passive: true });
    if (!focused || document.activeElement !== document.body) return;
    const node = sameAs(drawing, focused);
    if (node) reach(node);
  }

  function sameAs(drawing, key) {
    const same = drawing.querySelectorAll(`svg [data-${key.name}="${CSS.escape(key.value)}"]`);
    const thing = same[key.place] || same[0];
    return thing && (thing.classList.contains("touch") ? thing : thing.querySelector(".touch"));
  }

  function renewed() {
    const drawing = shownDrawing();
    if (!drawing || seen.has(drawing)) return;
    seen.add(drawing);
    resized.disconnect();
    resized.observe(sheetOf(drawing));
    again(drawing);
    const slip = document.querySelector("#working [data-slip]");
    if (slip && !first) ask(slip.dataset.slip);
    first = false;
  }

  new MutationObserver(renewed).observe(document.getElementById("sheet"), { childList: true });
  renewed();
})();

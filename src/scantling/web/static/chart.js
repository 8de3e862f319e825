// Reads a chart place by place: a line on the plot, the values beside it, the same words told aloud.
"use strict";
(() => {
  const SPACE = "http://www.w3.org/2000/svg";
  const LEADING = 5.2, SIZE = 4, PAD = 1.6;
  const kept = new Map();

  const readingOf = (target) => (target instanceof Element ? target.closest("rect.reading") : null);
  const number = (element, name) => Number(element.getAttribute(name));

  function rowsOf(reading) {
    const table = document.querySelector(`[data-values="${CSS.escape(reading.dataset.chart)}"] tbody`);
    return table ? [...table.rows] : [];
  }

  function headsOf(row) {
    return [...row.closest("table").tHead.rows[0].cells].map((cell) => cell.textContent);
  }

  // ------------------------------------------------------------------------------------------------------- what is drawn
  function drawn(name, attributes, parent) {
    const made = document.createElementNS(SPACE, name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, String(value));
    parent.append(made);
    return made;
  }

  function cleared() {
    for (const old of document.querySelectorAll("g.reading-line")) old.remove();
  }

  function boxOf(reading) {
    const [x, y, width, height] = ["x", "y", "width", "height"].map((name) => number(reading, name));
    return { x, y, width, height, across: reading.getAttribute("aria-orientation") !== "vertical" };
  }

  function marks(reading, row, box, x, group) {
    const top = number(reading, "data-top"), room = box.height - number(reading, "data-headroom");
    for (const cell of row.querySelectorAll("td[data-level]")) {
      const y = box.y + box.height - (Number(cell.dataset.level) / top) * room;
      drawn("circle", { cx: x, cy: y, r: 1, class: "reading-mark" }, group);
    }
  }

  function words(box, lines, x, group) {
    const texts = lines.map((line) => {
      const text = drawn("text", { "font-size": SIZE, class: "reading-words" }, group);
      text.textContent = line;
      return text;
    });
    const wide = Math.max(...texts.map((text) => text.getComputedTextLength())) + 2 * PAD;
    const left = x + 2 + wide > box.x + box.width ? Math.max(box.x - 10, x - 2 - wide) : x + 2;
    const under = drawn("rect", { x: left, y: box.y + 1, width: wide, height: lines.length * LEADING + PAD, class: "reading-paper" }, group);
    group.insertBefore(under, texts[0]);
    texts.forEach((text, place) => {
      text.setAttribute("x", String(left + PAD));
      text.setAttribute("y", String(box.y + 1 + PAD / 2 + (place + 0.75) * LEADING));
    });
  }

  function line(reading, row, lines) {
    const box = boxOf(reading), stands = Number(row.dataset.stands);
    const group = drawn("g", { class: "reading-line", "aria-hidden": "true" }, reading.closest('[data-part="picture"]'));
    if (!box.across) {
      const each = box.height / rowsOf(reading).length;
      drawn("rect", { x: box.x - 1, y: box.y + stands * box.height - each / 2, width: box.width + 1, height: each, class: "reading-row" }, group);
      return;
    }
    const x = box.x + stands * box.width;
    drawn("line", { x1: x, y1: box.y, x2: x, y2: box.y + box.height, class: "reading-rule" }, group);
    marks(reading, row, box, x, group);
    words(box, lines, x, group);
  }

  // --------------------------------------------------------------------------------------------------------- what is told
  function read(reading, place, aloud) {
    const rows = rowsOf(reading);
    if (!rows.length) return;
    const here = Math.min(Math.max(place, 0), rows.length - 1);
    const row = rows[here], cells = [...row.cells].map((cell) => cell.textContent), heads = headsOf(row);
    const lines = [cells[0], ...cells.slice(1).map((cell, index) => `${heads[index + 1]}: ${cell}`)];
    kept.set(reading.dataset.chart, here);
    reading.setAttribute("aria-valuenow", String(here));
    reading.setAttribute("aria-valuetext", cells[0]);
    cleared();
    line(reading, row, lines);
    const told = reading.closest(".charts").querySelector(".read");
    if (told && aloud) told.textContent = lines.join("; ");
  }

  const placeOf = (reading) => kept.get(reading.dataset.chart) ?? number(reading, "aria-valuenow");

  function stride(reading) {
    return Math.max(2, Math.round(rowsOf(reading).length / 12));
  }

  function moved(key, reading) {
    const place = placeOf(reading), last = rowsOf(reading).length - 1;
    const places = {
      ArrowLeft: place - 1, ArrowRight: place + 1, ArrowUp: place + 1, ArrowDown: place - 1, Home: 0, End: last,
      PageUp: place + stride(reading), PageDown: place - stride(reading),
    };
    if (reading.getAttribute("aria-orientation") === "vertical") {
      Object.assign(places, { ArrowUp: place - 1, ArrowDown: place + 1, PageUp: place - stride(reading), PageDown: place + stride(reading) });
    }
    return places[key];
  }

  function pointed(reading, event) {
    const box = reading.getBoundingClientRect(), across = boxOf(reading).across;
    const share = across ? (event.clientX - box.left) / box.width : (event.clientY - box.top) / box.height;
    const stands = rowsOf(reading).map((row) => Math.abs(Number(row.dataset.stands) - share));
    return stands.indexOf(Math.min(...stands));
  }

  // ------------------------------------------------------------------------------------------------------------ who acts
  document.addEventListener("keydown", (event) => {
    const figure = event.target.closest(".charts svg g[data-figure]");
    if (figure && (event.key === "Enter" || event.key === " ")) {
      event.preventDefault();
      figure.dispatchEvent(new MouseEvent("click", { bubbles: true, cancelable: true }));
    }
    const reading = readingOf(event.target);
    if (!reading || event.altKey || event.ctrlKey || event.metaKey) return;
    if (event.key === "Escape") return cleared();
    const place = moved(event.key, reading);
    if (place === undefined) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    read(reading, place, true);
  }, true);
  let held = "";
  document.addEventListener("htmx:before:swap", () => {
    const reading = readingOf(document.activeElement);
    held = reading ? reading.dataset.chart : "";
  });
  document.addEventListener("htmx:after:swap", () => {
    const reading = held && document.querySelector(`rect.reading[data-chart="${CSS.escape(held)}"]`);
    held = "";
    if (reading && document.activeElement === document.body) reading.focus({ preventScroll: true });
  });
  document.addEventListener("focusin", (event) => {
    const reading = readingOf(event.target);
    if (reading) read(reading, placeOf(reading), true);
  });
  document.addEventListener("focusout", (event) => {
    if (readingOf(event.target)) cleared();
  });
  document.addEventListener("click", (event) => {
    const reading = readingOf(event.target);
    if (!reading) return;
    reading.focus({ preventScroll: true });
    read(reading, pointed(reading, event), true);
  });
  document.addEventListener("pointermove", (event) => {
    const reading = readingOf(event.target);
    if (reading && reading === document.activeElement) read(reading, pointed(reading, event), false);
  });
})();

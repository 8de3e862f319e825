// A text and its lines: numbers beside it, red pencil at mistakes, the caret led to them, saved by Ctrl and S.
"use strict";
(() => {
  const CHECK_AFTER = 250;
  const at = (path) => new URL("../" + path, document.baseURI).href;
  const sheet = () => document.querySelector("[data-text]");
  const area = () => document.querySelector("[data-text] textarea");
  const dirty = (text) => text.value !== text.defaultValue;
  let seen = null; // the file as this text was begun from
  let timer = 0;

  // Requests of one place wait for each other. Of checks only the last matters; no save may be dropped.
  function waitingPlace(order) {
    const place = document.createElement("span");
    place.hidden = true;
    place.setAttribute("hx-sync", order);
    document.body.append(place);
    return place;
  }
  const checks = waitingPlace("queue last");
  const saves = waitingPlace("queue all");
  function send(path, values, place) {
    return htmx.ajax("POST", at(sheet().dataset.text + "/" + path), { source: place, values: values, swap: "none" });
  }
  const check = () => send("check", { text: area().value }, checks);
  const save = () => send("save", { text: area().value, seen: seen }, saves);

  // ------------------------------------------------------------------------------------------ numbers and marks
  function numbered() {
    const text = area();
    const gutter = document.querySelector(".gutter");
    if (!text || !gutter) return;
    const wrong = new Set([...document.querySelectorAll(".mistakes [data-line]")].map((one) => Number(one.dataset.line)));
    const lines = text.value.split("\n").length;
    const whole = document.createDocumentFragment();
    let plain = "";
    for (let line = 1; line <= lines; line += 1) {
      if (!wrong.has(line)) { plain += line + "\n"; continue; }
      const mark = document.createElement("b");
      mark.textContent = "△ " + line;
      whole.append(plain, mark);
      plain = "\n";
    }
    whole.append(plain + "\n\n");
    gutter.replaceChildren(whole);
    gutter.scrollTop = text.scrollTop;
  }
  function scrolled(event) {
    if (event.target === area()) document.querySelector(".gutter").scrollTop = event.target.scrollTop;
  }
  function leadTo(line, column) {
    const text = area();
    const lines = text.value.split("\n");
    const before = lines.slice(0, line - 1).reduce((sum, one) => sum + one.length + 1, 0);
    const inside = [...(lines[line - 1] || "")].slice(0, column - 1).join("").length;
    text.focus({ preventScroll: true });
    text.setSelectionRange(before + inside, before + inside);
    const height = parseFloat(getComputedStyle(text).lineHeight);
    text.scrollTop = Math.max(0, (line - 6) * height);
    text.scrollLeft = inside > 60 ? text.scrollWidth * inside / Math.max(...lines.map((one) => one.length)) / 2 : 0;
    text.closest(".text-sheet").scrollIntoView({ block: "nearest" });
  }

  // -------------------------------------------------------------------------------------------------- what happens
  document.addEventListener("input", (event) => {
    if (event.target !== area()) return;
    numbered();
    clearTimeout(timer);
    timer = setTimeout(check, CHECK_AFTER);
  });
  document.addEventListener("scroll", scrolled, true);
  document.addEventListener("keydown", (event) => {
    if (!area() || !(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "s") return;
    event.preventDefault();
    clearTimeout(timer);
    save();
  });
  document.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button || !sheet()) return;
    if (button.dataset.line) leadTo(Number(button.dataset.line), Number(button.dataset.column));
    else if ("saveText" in button.dataset) save();
  });

  // A new text from the disk does not take the place of one that a person has begun to change.
  function followed(oldNode, newNode) {
    if (oldNode !== area() || !newNode) return true;
    if (!dirty(oldNode) || newNode.value === oldNode.value) {
      seen = newNode.dataset.seen;
      const caret = oldNode.selectionStart;
      queueMicrotask(() => {
        if (dirty(oldNode)) oldNode.value = oldNode.defaultValue;
        if (document.activeElement === oldNode) oldNode.setSelectionRange(caret, caret);
        kept("");
        numbered();
      });
      return true;
    }
    queueMicrotask(() => {
      kept("The file was changed by another program. What you typed stays here; saving it keeps both versions.");
      check();
    });
    return false;
  }
  htmx.registerExtension("text-begun", { htmx_before_morph_node: (element, { oldNode, newNode }) => followed(oldNode, newNode) });
  function kept(words) {
    const line = document.getElementById("text-kept");
    if (line) line.textContent = words;
  }
  document.addEventListener("htmx:after:swap", () => { if (area()) queueMicrotask(numbered); });
  addEventListener("beforeunload", (event) => {
    if (area() && dirty(area())) event.preventDefault();
  });

  function jumped() {
    const asked = new URLSearchParams(location.search);
    const line = Number(asked.get("line"));
    const id = asked.get("at");
    if (line) leadTo(line, Number(asked.get("column")) || 1);
    else if (id) {
      const lines = area().value.split("\n");
      const found = lines.findIndex((one) => one.startsWith(id.split(".")[0] + ":"));
      if (found >= 0) leadTo(found + 1, 1);
    }
  }
  addEventListener("DOMContentLoaded", () => {
    if (!area()) return;
    seen = area().dataset.seen;
    numbered();
    jumped();
  });
})();

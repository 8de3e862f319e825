// The brief's form: answers checked as they are typed, saved when the line is left; a person's own words are never lost.
"use strict";
(() => {
  const CHECK_AFTER = 150;
  const SETTLE = 500; // a choice walked through by keys is saved when it rests
  const at = (path) => new URL("../" + path, document.baseURI).href;
  const answerOf = (target) => target.closest("[data-answer]");
  const standing = (line) => (line.tagName === "SELECT"
    ? [...line.options].find((one) => one.defaultSelected)?.value ?? ""
    : line.defaultValue);
  const changed = (line) => line.value !== standing(line);

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
  function send(path, values, place = saves) {
    return htmx.ajax("POST", at(path), { source: place, values: values, swap: "none" });
  }

  // ---------------------------------------------------------------------------------------------- check, save
  const timers = new WeakMap();
  const begunFrom = new WeakMap(); // what the brief said when a person came to the line
  function later(line, wait, act) {
    clearTimeout(timers.get(line));
    timers.set(line, setTimeout(act, wait));
  }
  function values(line) {
    return { id: line.dataset.answer, value: line.value, where: line.dataset.where || "" };
  }
  function check(line) {
    send("brief/check", values(line), checks);
  }
  function save(line) {
    clearTimeout(timers.get(line));
    if (!changed(line) && line.getAttribute("aria-invalid") !== "true") return;
    const was = begunFrom.get(line) ?? standing(line);
    begunFrom.delete(line);
    send("brief/save", { ...values(line), was: was });
  }

  document.addEventListener("focusin", (event) => {
    const line = answerOf(event.target);
    prompt(line || (event.target.closest(".adding") ? event.target : null));
    if (line) begunFrom.set(line, standing(line));
  });
  document.addEventListener("input", (event) => {
    const line = answerOf(event.target);
    if (!line) return;
    prompt(line);
    if (!begunFrom.has(line)) begunFrom.set(line, standing(line));
    if (line.tagName !== "SELECT") later(line, CHECK_AFTER, () => check(line));
  });
  let byKeys = false;
  document.addEventListener("keydown", (event) => {
    byKeys = true;
    const line = answerOf(event.target);
    if (!line) return;
    if (event.key === "Escape" && changed(line)) {
      event.stopPropagation();
      line.value = standing(line);
      check(line);
    } else if (event.key === "Enter" && (event.ctrlKey || event.metaKey) && !line.value && line.dataset.assumed) {
      line.value = line.dataset.assumed;
      save(line);
    } else if (event.key === "Enter" && line.tagName !== "SELECT") {
      event.preventDefault();
      save(line);
    }
  });
  document.addEventListener("pointerdown", () => { byKeys = false; });
  document.addEventListener("change", (event) => {
    const line = answerOf(event.target);
    if (!line) return;
    if (line.tagName === "SELECT" && byKeys) later(line, SETTLE, () => save(line));
    else save(line);
  });
  document.addEventListener("focusout", (event) => {
    const line = answerOf(event.target);
    if (line && line.tagName === "SELECT") save(line);
  });

  // -------------------------------------------------------------------------------------- add, take out, write in
  function opened(button) {
    const sure = document.getElementById(button.dataset.takeOut);
    sure.hidden = false;
    button.hidden = true;
    sure.querySelector("button").focus();
  }
  function kept(button) {
    const sure = document.getElementById(button.dataset.keep);
    sure.hidden = true;
    const ask = document.querySelector('[data-take-out="' + sure.id + '"]');
    ask.hidden = false;
    ask.focus();
  }
  async function takenOut(button) {
    const list = button.closest(".named").id;
    await send("brief/take-out", { id: button.dataset.takeOutNow });
    const left = document.querySelector("#" + list + " .add > summary");
    if (left && !document.contains(button)) left.focus({ preventScroll: true });
  }
  function unfolded(button, open) {
    document.getElementById(button.dataset.more).hidden = !open;
    button.setAttribute("aria-expanded", String(open));
  }
  document.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    if (button.dataset.takeOut) opened(button);
    else if (button.dataset.keep) kept(button);
    else if (button.dataset.more) unfolded(button, button.getAttribute("aria-expanded") !== "true");
    else if (button.dataset.takeOutNow) takenOut(button);
    else if (button.dataset.write) {
      const line = button.closest(".answer").querySelector("[data-answer]");
      line.value = button.dataset.value;
      line.focus({ preventScroll: true });
      save(line);
    }
  });
  document.addEventListener("submit", async (event) => {
    const form = event.target.closest("[data-adds]");
    if (!form) return;
    event.preventDefault();
    const told = { id: form.dataset.adds };
    for (const line of form.elements) if (line.name) told[line.name] = line.value;
    await send("brief/add", told);
    const wrong = document.getElementById("wrong-" + form.id);
    if (wrong && wrong.textContent) return;
    form.reset();
    const around = form.closest("details");
    if (!around || !around.isConnected) return;
    around.open = false;
    around.querySelector("summary").focus();
  });

  // ------------------------------------------------------------------- what is sent anew must not take words away
  // The swap leaves a line alone that a person stands in. One that nothing was typed into follows; another keeps its words.
  function followed(oldNode, newNode) {
    if (!oldNode.dataset || !oldNode.dataset.answer || oldNode.tagName !== newNode.tagName) return;
    const now = standing(newNode);
    if (oldNode.dataset.answer !== newNode.dataset.answer) {
      queueMicrotask(() => { oldNode.value = standing(oldNode); });
    } else if (!changed(oldNode) || oldNode.value === now) {
      begunFrom.delete(oldNode);
      queueMicrotask(() => { oldNode.value = now; });
    } else if (now !== standing(oldNode)) {
      const typed = oldNode.value;
      queueMicrotask(() => { oldNode.value = typed; });
    }
  }
  function unfolding(element, name) {
    return (element.tagName === "DETAILS" && name === "open") || (name === "aria-expanded" && element.dataset.more) ||
      (name === "hidden" && element.className === "smalls");
  }
  htmx.registerExtension("lines-to-write-on", {
    htmx_before_morph_node: (element, { oldNode, newNode }) => { followed(oldNode, newNode); },
    htmx_before_morph_attr: (element, { attrName }) => !unfolding(element, attrName),
  });
  function marked() {
    for (const line of document.querySelectorAll("[data-answer]")) {
      const wrong = document.getElementById(line.getAttribute("aria-describedby").split(" ")[1]);
      if (wrong && wrong.textContent) line.setAttribute("aria-invalid", "true");
      else line.removeAttribute("aria-invalid");
    }
  }
  document.addEventListener("htmx:after:swap", () => queueMicrotask(marked));

  // ------------------------------------------------------------------------------------------------ help, jumps
  function prompt(line) {
    const place = document.querySelector("#brief-prompt p");
    if (!place) return;
    const help = line && line.getAttribute("aria-describedby");
    const told = help && document.getElementById(help.split(" ")[0]);
    place.textContent = told ? told.textContent : "";
    if (told && line.dataset.assumed && !line.value) place.textContent += " Ctrl and Enter write it in.";
    place.parentNode.classList.toggle("empty", !told);
  }
  function reach(id) {
    const lines = [...document.querySelectorAll("#sheet [data-answer], #sheet [data-id]")];
    const own = (one) => one.dataset.answer || one.dataset.id;
    const found = lines.find((one) => own(one) === id) ||
      lines.filter((one) => id.startsWith(own(one) + ".")).sort((a, b) => own(b).length - own(a).length)[0];
    if (!found) return;
    for (let around = found.closest("details"); around; around = around.parentElement.closest("details")) around.open = true;
    const folded = found.closest(".smalls[hidden]");
    if (folded) unfolded(document.querySelector('[data-more="' + folded.id + '"]'), true);
    (found.closest("tbody, .answer, .small") || found).classList.add("reached");
    const line = found.dataset.answer ? found : found.querySelector("[data-answer], summary, h2");
    (line || found).focus({ preventScroll: true });
    (line || found).scrollIntoView({ block: "center" });
  }
  addEventListener("DOMContentLoaded", () => {
    const wanted = new URLSearchParams(location.search).get("at");
    if (wanted && document.body.dataset.sheet === "brief") reach(wanted);
  });
})();

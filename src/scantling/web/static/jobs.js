// Long work and the first visit: seconds that go on, the field that is to be written on, what "like an office" asks besides.
"use strict";
(() => {
  // ------------------------------------------------------------------------------------------------ seconds that go on
  const begun = new Map();

  function tick() {
    for (const place of document.querySelectorAll("[data-since]")) {
      const said = Number(place.dataset.seconds) * 1000;
      const told = begun.get(place.dataset.since);
      const now = performance.now();
      if (told === undefined || now - told < said) begun.set(place.dataset.since, now - said);
      place.textContent = Math.floor((now - begun.get(place.dataset.since)) / 1000) + " s";
    }
  }
  setInterval(tick, 1000);

  // ------------------------------------------------------------------------------------------ the field to be written on
  let focused = null;
  function ready() {
    const field = document.querySelector("[data-focus]");
    if (field && field !== focused) {
      focused = field;
      field.focus({ preventScroll: true });
      if (field.select && field.value) field.select();
    }
  }

  // ------------------------------------------------------------------------------------------- what "like" asks besides
  function likes() {
    for (const box of document.querySelectorAll(".begin .like")) {
      const picked = box.closest("form").querySelector("input[name=how]:checked");
      box.hidden = !picked || picked.value !== "like";
    }
  }
  // ------------------------------------------------------------------------- words that are put together with commas
  function added(word) {
    const field = document.getElementById("typed");
    const words = field.value.split(",").map((one) => one.trim()).filter((one) => one);
    field.value = words.includes(word) ? words.filter((one) => one !== word).join(", ") : [...words, word].join(", ");
    field.focus();
  }
  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-add]");
    if (button) added(button.dataset.add);
  });
  document.addEventListener("change", (event) => {
    if (event.target.matches(".begin input[name=how]")) likes();
  });

  function shown() {
    tick();
    ready();
    likes();
  }
  document.addEventListener("htmx:after:swap", shown);
  document.addEventListener("htmx:finally:request", shown);
  shown();
})();

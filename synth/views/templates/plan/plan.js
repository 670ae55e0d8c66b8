// Ticked boxes stay ticked: this browser keeps them under a name made from the layout. Where it
// cannot, the boxes are still counted.
"use strict";

(() => {
  const key = `gatefit-plan-${document.body.dataset.plan}`;
  const boxes = [...document.querySelectorAll("input[type=checkbox]")];
  const sections = [...document.querySelectorAll(".step, .outside, .tests")].map((section) => ({
    section,
    boxes: [...section.querySelectorAll("input[type=checkbox]")],
    count: section.querySelector(".count"),
  }));
  // The pieces of a layout hold steps, and have a place in the list of pieces.
  const pieces = [...document.querySelectorAll(".piece")].map((section) => ({
    section,
    boxes: [...section.querySelectorAll("input[type=checkbox]")],
    count: section.querySelector(".piece-head .count"),
    link: document.querySelector(`.pieces a[href="#${section.id}"]`),
  }));
  const parts = boxes.filter(({ name }) => name.startsWith("p"));
  const byId = (id) => document.getElementById(id);

  function read() {
    try {
      const kept = JSON.parse(localStorage.getItem(key) ?? "[]");
      return new Set(Array.isArray(kept) ? kept : []);
    } catch {
      return new Set();
    }
  }

  function write() {
    try {
      const ticked = boxes.filter(({ checked }) => checked).map(({ name }) => name);
      if (ticked.length) localStorage.setItem(key, JSON.stringify(ticked));
      else localStorage.removeItem(key);
    } catch {
      byId("kept").textContent = "This browser does not keep the ticks of this page.";
    }
  }

  const done = (list) => list.filter(({ checked }) => checked).length;

  function count() {
    byId("progress").textContent = `${done(parts)} of ${parts.length} parts`;
    byId("share").max = parts.length || 1;
    byId("share").value = done(parts);
    for (const { section, boxes: own, count: words, link } of [...sections, ...pieces]) {
      const ticked = done(own);
      words.textContent = ticked ? ` ${ticked} of ${own.length}` : "";
      section.classList.toggle("is-done", ticked === own.length);
      link?.classList.toggle("is-done", ticked === own.length);
    }
    byId("next").disabled = done(boxes) === boxes.length;
  }

  const kept = read();
  for (const box of boxes) box.checked = kept.has(box.name);
  document.addEventListener("change", () => {
    write();
    count();
  });
  byId("next").addEventListener("click", () => {
    const open = sections.find(({ boxes: own }) => done(own) < own.length);
    open.section.scrollIntoView({ block: "start" });
    open.boxes.find(({ checked }) => !checked).focus({ preventScroll: true });
  });
  byId("clear").addEventListener("click", () => {
    if (!done(boxes) || !confirm("Clear all ticks of this plan?")) return;
    for (const box of boxes) box.checked = false;
    write();
    count();
  });
  // Boxes may be ticked in another window of the same plan.
  window.addEventListener("storage", (event) => {
    if (event.key !== key) return;
    const now = read();
    for (const box of boxes) box.checked = now.has(box.name);
    count();
  });
  byId("bar").hidden = false;
  count();
})();

// The flat plans: shows power in them, and lets pointer and keys go over their cells.

import { byId, data } from "page/dom";

export function makePlans(play, picks) {
  const plans = byId("plans");
  const groups = [...plans.querySelectorAll(".cell")];
  groups.forEach((group) => {
    const cell = Number(group.dataset.cell);
    // A finger does not hover: it taps, and a tap chooses.
    const byMouse = (to) => (event) => event.pointerType === "mouse" && picks.hover(to);
    group.addEventListener("pointerenter", byMouse(cell));
    group.addEventListener("pointerleave", byMouse(null));
    group.addEventListener("click", () => picks.select(cell));
    group.addEventListener("focus", () => picks.hover(cell));
    group.addEventListener("blur", () => picks.hover(null));
  });
  for (const plan of plans.querySelectorAll(".plan")) {
    plan.querySelector(".cell")?.setAttribute("tabindex", "0");
  }
  plans.addEventListener("keydown", walk);

  function walk(event) {
    const group = event.target.closest(".cell");
    if (!group) return;
    const cell = Number(group.dataset.cell);
    const steps = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    if (event.key === "Enter" || event.key === " ") picks.select(cell);
    else if (event.key === "f") picks.follow(cell, !picks.followed.includes(cell));
    else if (steps[event.key]) move(group, data.cells[cell].at, steps[event.key]);
    else return;
    event.preventDefault();
  }

  /** Moves the focus to the nearest cell that way on the same layer. */
  function move(group, from, [dx, dy]) {
    let best = null;
    for (const other of group.closest(".plan").querySelectorAll(".cell")) {
      const to = data.cells[Number(other.dataset.cell)].at;
      const ahead = (to[0] - from[0]) * dx + (to[1] - from[1]) * dy;
      const aside = Math.abs((to[0] - from[0]) * dy) + Math.abs((to[1] - from[1]) * dx);
      if (ahead <= 0) continue;
      const far = ahead + 3 * aside;
      if (!best || far < best.far) best = { far, other };
    }
    if (!best) return;
    group.setAttribute("tabindex", "-1");
    best.other.setAttribute("tabindex", "0");
    best.other.focus();
  }

  return function paint() {
    for (const group of groups) {
      const cell = Number(group.dataset.cell);
      group.classList.toggle("is-picked", cell === picks.shown);
      group.classList.toggle("is-followed", picks.followed.includes(cell));
      const look = play?.look(cell);
      if (!look) continue;
      const { part } = data.cells[cell];
      const most = part === "wire" ? data.reach : part === "solid" ? 2 : 1;
      group.classList.toggle("is-on", look.value > 0);
      group.classList.toggle("is-driven", part === "solid" && look.value === 2);
      group.style.setProperty("--power-part", look.value / most);
      group.querySelector(".value").textContent =
        part === "wire" ? (look.value || "") : part === "solid" ? "" : look.value;
      group.setAttribute("aria-label", `${data.cells[cell].title}: ${look.text}`);
    }
  };
}

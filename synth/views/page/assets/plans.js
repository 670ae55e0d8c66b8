// The flat layers: shows power in them, and lets pointer and keys move over their cells.

import { byId, data } from "page/dom";
import { showPower } from "page/power";

export function makePlans(play, picks) {
  const plans = byId("plans");
  const cells = [...plans.querySelectorAll(".cell")].map((group) => {
    const number = Number(group.dataset.cell);
    return {
      group,
      number,
      part: data.cells[number].part,
      // The ground of the cell is the button, so that text drawn in the cell is not part of its name.
      button: group.querySelector(".ground"),
      value: group.querySelector(".value"),
      shown: undefined,
    };
  });
  const groupOf = (event) => event.target.closest?.(".cell");
  // A finger does not hover; its tap chooses.
  plans.addEventListener("pointerover", (event) => {
    if (event.pointerType !== "mouse") return;
    const group = groupOf(event);
    picks.hover(group ? Number(group.dataset.cell) : null, group);
  });
  plans.addEventListener("pointerleave", (event) => {
    if (event.pointerType === "mouse") picks.hover(null);
  });
  plans.addEventListener("click", (event) => {
    const group = groupOf(event);
    picks.select(group ? Number(group.dataset.cell) : null, group?.querySelector(".ground"));
  });
  plans.addEventListener("focusin", (event) => {
    const group = groupOf(event);
    if (event.target.matches(":focus-visible")) picks.hover(Number(group.dataset.cell), group);
  });
  plans.addEventListener("focusout", () => picks.hover(null));
  for (const plan of plans.querySelectorAll(".plan")) {
    plan.querySelector(".ground")?.setAttribute("tabindex", "0");
  }
  plans.addEventListener("keydown", walk);

  function walk(event) {
    const group = groupOf(event);
    if (!group) return;
    const cell = Number(group.dataset.cell);
    const steps = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    if (event.key === "Enter" || event.key === " ") {
      picks.select(cell, event.target);
      byId("inspector").focus({ preventScroll: true });
    } else if (event.key === "f") picks.follow(cell, !picks.followed.includes(cell));
    else if (steps[event.key]) move(group, data.cells[cell].at, steps[event.key]);
    else return;
    event.preventDefault();
  }

  /** Moves the focus to the nearest cell in a direction on the same layer. */
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
    const [left, next] = [group, best.other].map((cell) => cell.querySelector(".ground"));
    left.setAttribute("tabindex", "-1");
    next.setAttribute("tabindex", "0");
    next.focus();
  }

  let marked = [];
  let before = -1;

  return function paint() {
    for (const group of marked) group.classList.remove("is-picked", "is-followed");
    marked = cells.filter(({ number, group }) => {
      const picked = number === picks.shown;
      const followed = picks.followed.includes(number);
      if (picked) group.classList.add("is-picked");
      if (followed) group.classList.add("is-followed");
      return picked || followed;
    }).map(({ group }) => group);
    if (!play) return;
    const onwards = play.cursor === before + 1 && play.cursor > 0;
    before = play.cursor;
    for (const cell of cells) paintPower(cell, onwards);
  };

  function paintPower(cell, onwards) {
    const look = play.look(cell.number);
    if (!look) return;
    // A pulse: cells that have just got power show it later the further they are from its source.
    cell.group.classList.toggle("is-fresh", onwards && look.value > 0 && !cell.power);
    if (!showPower(cell, look)) return;
    cell.button.setAttribute("aria-label", `${data.cells[cell.number].title}: ${look.text}`);
  }
}

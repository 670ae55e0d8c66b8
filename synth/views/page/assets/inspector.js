// What a cell is, how it stands now, and why.

import { byId, data, make } from "page/dom";

export function makeInspector(play, picks) {
  const body = byId("inspector-body");
  return function paint() {
    const cell = picks.shown;
    if (cell === null) {
      body.replaceChildren(
        make("p", { class: "hint" }, "Point at a cell, or tap one, in the model or in a layer."),
      );
      return;
    }
    const { title, note } = data.cells[cell];
    const look = play?.look(cell);
    const parts = [make("p", { class: "cell-title" }, title)];
    if (look) {
      const state = make("p", { class: "cell-state" }, look.text);
      state.classList.toggle("is-on", look.value > 0);
      parts.push(state, make("p", { class: "cell-why" }, make("b", {}, "why: "), look.why));
    } else if (note) {
      parts.push(make("p", { class: "cell-why" }, note));
    }
    if (look && picks.selected === cell) {
      const followed = picks.followed.includes(cell);
      const text = followed ? "Drop from the waveforms" : "Add to the waveforms";
      const button = make("button", { type: "button", class: "follow" }, text);
      button.addEventListener("click", () => picks.follow(cell, !followed));
      parts.push(button);
    }
    body.replaceChildren(...parts);
  };
}

// What a cell is, how it stands now, and why.

import { byId, data, make } from "page/dom";

export function makeInspector(play, picks) {
  const hint = make(
    "p",
    { class: "hint" },
    "Point at a cell, or tap one, in the model or in a layer.",
  );
  const title = make("p", { class: "cell-title" });
  const state = make("p", { class: "cell-state" });
  const reason = make("span");
  const why = make("p", { class: "cell-why" }, make("b", {}, "why: "), reason);
  const note = make("p", { class: "cell-why" });
  // Buttons stay the same elements, so that a click across a change of tick is not lost.
  const follow = make("button", { type: "button", class: "follow" });
  const close = make("button", { type: "button", class: "close", "aria-label": "Close" }, "\u00d7");
  byId("inspector-body").append(hint, title, state, why, note, follow, close);
  follow.addEventListener("click", () => {
    picks.follow(picks.selected, !picks.followed.includes(picks.selected));
  });
  close.addEventListener("click", () => picks.set({ selected: null, hovered: null }));

  return function paint() {
    const cell = picks.shown;
    const look = cell === null ? null : play?.look(cell);
    document.body.classList.toggle("is-telling", cell !== null);
    hint.hidden = cell !== null;
    title.hidden = close.hidden = cell === null;
    state.hidden = why.hidden = !look;
    follow.hidden = !look || picks.selected !== cell;
    title.textContent = cell === null ? "" : data.cells[cell].title;
    note.textContent = cell === null || look ? "" : data.cells[cell].note;
    if (!look) return;
    state.textContent = look.text;
    state.classList.toggle("is-on", look.value > 0);
    reason.textContent = look.why;
    const followed = picks.followed.includes(cell);
    follow.textContent = followed ? "Drop from the waveforms" : "Add to the waveforms";
  };
}

// The card beside a cell: what the cell is, its state, and why. The causes that the reason names are
// buttons: each leads to the card of that cell, and so, step by step, back to the pin.

import { byId, data, make } from "page/dom";

const GAP = 12;
const EDGE = 8;

/** Cells by the words that reasons use for them: "(1,0,2)", "the lead of input a". */
const BY_NAME = new Map();
data.cells.forEach((cell, number) => {
  BY_NAME.set(`(${cell.at.join(",")})`, number);
  if (cell.outside) BY_NAME.set(cell.title, number);
});
const NAMES = new RegExp(
  [
    "(?:(?:solid|wire|inverter|buffer|clear|ledge|host) )?\\(-?\\d+,-?\\d+,-?\\d+\\)",
    ...data.cells.filter((cell) => cell.outside).map((cell) => cell.title),
  ]
    .map((text, index) => (index ? `${text.replace(/[.*+?^${}()|[\]\\]/g, "\\$&")}(?!\\w)` : text))
    .join("|"),
  "g",
);

/** A reason as text and names of cells: [text, cell or undefined] pairs. */
function piecesOf(sentence) {
  const pieces = [];
  let done = 0;
  for (const found of sentence.matchAll(NAMES)) {
    const cell = BY_NAME.get(found[0].replace(/^\w+ (?=\()/, ""));
    if (cell === undefined) continue;
    pieces.push([sentence.slice(done, found.index)], [found[0], cell]);
    done = found.index + found[0].length;
  }
  return [...pieces, [sentence.slice(done)]];
}

export function makeInspector(play, picks) {
  const card = byId("inspector");
  const title = make("p", { class: "cell-title", id: "card-title" });
  const state = make("p", { class: "cell-state" });
  const reason = make("span");
  const why = make("p", { class: "cell-why" }, make("b", {}, "why: "), reason);
  const note = make("p", { class: "cell-why" });
  const faults = make("ul", { class: "cell-faults" });
  // The buttons stay the same elements, so that a click during a change of tick is not lost.
  const back = make("button", { type: "button", class: "trail" }, "\u2190 back");
  const follow = make("button", { type: "button", class: "follow" });
  const close = make("button", { type: "button", class: "close", "aria-label": "Close" }, "\u00d7");
  const body = make("div", { id: "inspector-body" }, title, state, faults, why, note);
  const tools = make("div", { class: "card-tools" }, back, follow);
  card.append(body, tools, close);
  follow.addEventListener("click", () => {
    picks.follow(picks.selected, !picks.followed.includes(picks.selected));
  });
  back.addEventListener("click", () => picks.back());
  close.addEventListener("click", shut);
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && picks.selected !== null) shut();
  });

  function shut() {
    const { from } = picks;
    picks.set({ selected: null, hovered: null, trail: [] });
    if (card.contains(document.activeElement)) from?.focus?.({ preventScroll: true });
  }

  /** Writes a reason; its buttons are replaced only when it changes. */
  let written = "";
  function write(sentence) {
    if (sentence === written) return;
    written = sentence;
    reason.replaceChildren(
      ...piecesOf(sentence).map(([text, cell]) => {
        if (cell === undefined) return text;
        const button = make("button", { type: "button", class: "cell-link" }, text);
        button.addEventListener("click", () => {
          picks.goOn(cell);
          card.focus({ preventScroll: true });
        });
        return button;
      }),
    );
  }

  return function paint() {
    const cell = picks.shown;
    card.hidden = cell === null;
    card.classList.toggle("is-pinned", picks.selected !== null);
    if (cell === null) return;
    const look = play?.look(cell);
    title.textContent = data.cells[cell].title;
    note.textContent = look ? "" : data.cells[cell].note;
    state.hidden = why.hidden = !look;
    close.hidden = picks.selected === null;
    follow.hidden = !look || picks.selected === null;
    back.hidden = picks.selected === null || picks.trail.length === 0;
    tools.hidden = follow.hidden && back.hidden;
    const wrong = data.faults.filter((fault) => fault.cell === cell);
    faults.replaceChildren(...wrong.map((fault) => make("li", {}, fault.text)));
    faults.hidden = wrong.length === 0;
    if (look) {
      state.textContent = look.text;
      state.classList.toggle("is-on", look.value > 0);
      write(look.why);
      follow.textContent = picks.followed.includes(cell)
        ? "Remove from the waveforms"
        : "Add to the waveforms";
    }
    place(card, picks.anchor?.(cell));
  };
}

/** Puts the card beside a rectangle of the window where there is room, never over the cell. */
function place(card, anchor) {
  const { clientWidth: wide, clientHeight: high } = document.documentElement;
  const { offsetWidth, offsetHeight } = card;
  const at = anchor ?? { left: wide / 2, right: wide / 2, top: high / 2, bottom: high / 2 };
  const hold = (value, size, room) => Math.max(EDGE, Math.min(value, room - size - EDGE));
  const middle = hold((at.top + at.bottom - offsetHeight) / 2, offsetHeight, high);
  const centre = hold((at.left + at.right - offsetWidth) / 2, offsetWidth, wide);
  const places = [
    [at.right + GAP, middle, at.right + GAP + offsetWidth + EDGE <= wide],
    [at.left - GAP - offsetWidth, middle, at.left - GAP - offsetWidth >= EDGE],
    [centre, at.bottom + GAP, at.bottom + GAP + offsetHeight + EDGE <= high],
    [centre, at.top - GAP - offsetHeight, at.top - GAP - offsetHeight >= EDGE],
  ];
  // There is no room beside it: use the edge of the window that is further from the cell.
  const below = (at.top + at.bottom) / 2 < high / 2;
  const last = [centre, below ? high - offsetHeight - EDGE : EDGE];
  const [left, top] = places.find(([, , fits]) => fits) ?? last;
  card.style.left = `${left}px`;
  card.style.top = `${top}px`;
}

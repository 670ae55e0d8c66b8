// The list of pieces: what makes each signal and what carries it. One can be shown alone; all other
// parts then fade in the model and in the layers.

import { byId, data, make } from "page/dom";

/** Fills the list; null if the layout has no pieces. */
export function makePieces(picks) {
  if (!data.pieces?.length) return null;
  const list = byId("piece-list");
  const search = byId("piece-search");
  const rows = data.pieces.map((piece, index) => {
    const reads = piece.reads.length ? `reads ${piece.reads.join(", ")}; ` : "";
    const button = make(
      "button",
      { type: "button", "aria-pressed": "false" },
      make("span", { class: "name" }, piece.title),
      make("small", {}, `${reads}${piece.cells.length} parts`),
    );
    button.addEventListener("click", () => {
      picks.isolate(picks.piece === index ? null : index);
      showModel();
    });
    const item = make("li", {}, button);
    list.append(item);
    return { item, button, words: `${piece.title} ${reads}`.toLowerCase() };
  });
  search.addEventListener("input", () => {
    const wanted = search.value.toLowerCase().split(/\s+/).filter(Boolean);
    for (const { item, words } of rows) item.hidden = !wanted.every((word) => words.includes(word));
    byId("piece-none").hidden = rows.some(({ item }) => !item.hidden);
  });
  byId("piece-all").addEventListener("click", () => picks.isolate(null));
  list.addEventListener("keydown", (event) => {
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (!step) return;
    const shown = rows.filter(({ item }) => !item.hidden);
    const at = shown.findIndex(({ button }) => button === event.target);
    shown[at + step]?.button.focus();
    event.preventDefault();
  });

  const groups = [...document.querySelectorAll("#plans .cell")];
  let before = null;
  return function paint() {
    if (picks.piece === before) return;
    before = picks.piece;
    rows.forEach(({ button }, index) => button.setAttribute("aria-pressed", String(index === before)));
    if (rows[before]) reveal(list, rows[before].item);
    byId("piece-all").disabled = before === null;
    byId("piece-shown").textContent = before === null ? "" : `Only ${data.pieces[before].title} is shown.`;
    const own = before === null ? null : new Set(data.pieces[before].cells);
    for (const group of groups) {
      group.classList.toggle("is-away", own !== null && !own.has(Number(group.dataset.cell)));
    }
    if (own) showInLayers();
  };
}

/** Scrolls each layer sideways to where the piece begins in it. */
function showInLayers() {
  for (const scroll of document.querySelectorAll("#plans .plan-scroll")) {
    const first = scroll.querySelector(".cell:not(.is-away)");
    if (!first) continue;
    const [around, own] = [scroll, first].map((node) => node.getBoundingClientRect());
    scroll.scrollLeft += own.left - around.left - around.width / 2;
  }
}

/** Scrolls the list, and only the list, to one of its items. */
function reveal(list, item) {
  const [around, own] = [list, item].map((node) => node.getBoundingClientRect());
  if (own.top < around.top) list.scrollTop -= around.top - own.top;
  else if (own.bottom > around.bottom) list.scrollTop += own.bottom - around.bottom;
}

/** On a narrow screen the list stands below the model, which may be out of sight. */
function showModel() {
  const { top, bottom } = byId("canvas").getBoundingClientRect();
  const least = 80;
  if (bottom < least || top > window.innerHeight - least) {
    byId("stage").scrollIntoView({ block: "start" });
  }
}

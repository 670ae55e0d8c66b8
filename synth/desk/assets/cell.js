// The cell under the hand: what it is, how it stands, and why, with the cells that its reason names.

import { byId, data, make } from "page/dom";

const NAMED = /\((-?\d+),(-?\d+),(-?\d+)\)/g;

export function makeCell(model) {
  const host = byId("cell");
  const title = make("p", { class: "cell-title" });
  const state = make("p", { class: "cell-state" });
  const why = make("p", { class: "cell-why" });
  const note = make("p", { class: "note" });
  host.append(title, state, why, note);
  let asked = "";

  async function ask() {
    const number = model.numberAt(model.cursor);
    const cell = model.at(model.cursor);
    const { play } = model;
    const look = number === undefined || !play.timeline.length ? null : play.look(number);
    title.textContent = titleOf(model);
    state.hidden = !look;
    state.textContent = look?.text ?? "";
    state.classList.toggle("is-on", Boolean(look?.value));
    note.textContent = cell?.note ?? "";
    byId("cursor-label").setAttribute("aria-label", [title.textContent, look?.text].filter(Boolean).join(", "));
    byId("where").textContent = byId("cursor-label").getAttribute("aria-label");
    const left = number !== undefined && data.leftOut.includes(number);
    if (!look && !left) {
      asked = "";
      why.replaceChildren();
      return;
    }
    const key = `${model.state.revision} ${model.cursor} ${play.cursor} ${look?.text}`;
    if (key === asked) return;
    asked = key;
    const answer = await model.link.ask("why", { cell: model.cursor, tick: play.cursor }).catch(() => null);
    if (key !== asked) return;
    why.replaceChildren(...(answer?.why ? pieces(model, answer.why.why) : []));
  }

  for (const what of ["cursor", "play"]) model.addEventListener(what, ask);
}

function titleOf(model) {
  const cell = model.at(model.cursor);
  const place = `(${model.cursor.join(", ")})`;
  const pins = model.state.pins.filter(({ at }) => at.join() === model.cursor.join());
  const words = [cell ? cell.title : `empty cell at ${place}`];
  if (pins.length) words.push(`pin ${pins.map(({ name }) => name).join(", ")}`);
  if (model.locked.has(model.cursor.join())) words.push("locked");
  return words.join(", ");
}

/** A reason as text and buttons that lead to the cells it names. */
function pieces(model, sentence) {
  const found = [];
  let done = 0;
  for (const match of sentence.matchAll(NAMED)) {
    const cell = match.slice(1).map(Number);
    if (!model.holds(cell)) continue;
    const button = make("button", { type: "button", class: "cell-link" }, match[0]);
    button.addEventListener("click", () => model.light([cell]));
    found.push(sentence.slice(done, match.index), button);
    done = match.index + match[0].length;
  }
  return [make("b", {}, "why: "), ...found, sentence.slice(done)];
}

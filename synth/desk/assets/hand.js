// The hand: pointer and keys on the layers and on the model. It says what is wanted; the server does it.

import { byId, data } from "page/dom";
import { PARTS } from "desk/model";

/** The keys, for the page to list: what is pressed, and what it does. */
export const KEYS = [
  ["arrows", "walk the cells; with shift: choose a block"],
  ["page up, page down", "a layer up or down; with shift: into the block"],
  ["s c l w i b", "put a solid, clear, ledge, wire, inverter, buffer; in a block: in all of it"],
  ["i or b again", "turn it on; a buffer takes the ticks chosen"],
  ["delete or x", "empty"],
  ["enter or space", "use the tool chosen"],
  ["r, shift+r", "turn to the left, to the right"],
  ["m, shift+m", "mirror along x, along y"],
  ["ctrl+arrows, + and \u2212", "move the block; with alt: copy it"],
  ["ctrl+c, ctrl+x, ctrl+v", "copy, cut, put in what was copied"],
  ["k", "lock or unlock"],
  ["p", "set a pin here, or change it"],
  ["1 to 9", "switch an input"],
  ["[ and ]", "a tick back, a tick on"],
  ["f", "follow the cell in the waveforms"],
  ["ctrl+z, ctrl+shift+z", "undo, redo"],
  ["ctrl+s", "save"],
  ["escape", "let the block go"],
];

const LETTERS = { s: "solid", c: "clear", l: "ledge", w: "wire", i: "inverter", b: "buffer" };
const STEPS = {
  ArrowRight: [1, 0, 0],
  ArrowLeft: [-1, 0, 0],
  ArrowUp: [0, 1, 0],
  ArrowDown: [0, -1, 0],
  PageUp: [0, 0, 1],
  PageDown: [0, 0, -1],
  "+": [0, 0, 1],
  "-": [0, 0, -1],
};

export function makeHand(model, layers) {
  const board = byId("board");
  makePointer(model, layers, board);
  board.addEventListener("keydown", (event) => press(model, layers, event));
  // In the model arrows walk as well; with shift they are left to the model, which turns.
  byId("canvas").addEventListener(
    "keydown",
    (event) => {
      if (event.shiftKey && event.key.startsWith("Arrow")) return;
      if (press(model, layers, event)) event.stopImmediatePropagation();
    },
    true,
  );
  document.addEventListener("keydown", (event) => {
    if (event.defaultPrevented || event.target.closest("input, textarea, dialog")) return;
    if (anywhere(model, event)) event.preventDefault();
  });
}

/** Keys with control, which act wherever the focus is. */
function anywhere(model, event) {
  if (!(event.ctrlKey || event.metaKey) || event.altKey) return false;
  const key = event.key.toLowerCase();
  if (key === "z") model.order(event.shiftKey ? "redo" : "undo");
  else if (key === "y") model.order("redo");
  else if (key === "s") byId("save").click();
  else return false;
  return true;
}

function press(model, layers, event) {
  if (!model.state) return false;
  const done = walk(model, layers, event) || act(model, event);
  if (done) event.preventDefault();
  return done;
}

function walk(model, layers, event) {
  const step = STEPS[event.key];
  if (!step) return false;
  const sign = event.key === "+" || event.key === "-";
  const control = event.ctrlKey || event.metaKey || sign;
  if (control || event.altKey) model.move(step, event.altKey);
  else {
    const to = model.cursor.map((at, axis) => at + step[axis]);
    if (model.holds(to)) model.go(to, { extend: event.shiftKey });
    layers.reveal(model.cursor);
  }
  return true;
}

function act(model, event) {
  const key = event.key.toLowerCase();
  const cells = () => model.cellsOfBlock();
  if (event.ctrlKey || event.metaKey) {
    if (key === "c") model.copy();
    else if (key === "x") {
      model.copy();
      model.put("empty", cells());
    } else if (key === "v") model.paste();
    else return false;
    return true;
  }
  if (event.altKey) return false;
  if (LETTERS[key]) model.put(LETTERS[key], cells());
  else if (key === "delete" || key === "backspace" || key === "x") model.put("empty", cells());
  else if (key === "enter" || key === " ") model.use(cells());
  else if (key === "r") model.turn(event.shiftKey ? -1 : 1);
  else if (key === "m") model.mirror(event.shiftKey ? "y" : "x");
  else if (key === "k") model.lock(cells());
  else if (key === "p") model.tell("pin");
  else if (key === "[") model.play.show(model.play.cursor - 1);
  else if (key === "]") model.play.show(model.play.cursor + 1);
  else if (key === "f") follow(model);
  else if (key === "?") byId("keys").showModal();
  else if (key === "escape") {
    model.lit = [];
    model.go(model.cursor);
  } else if (key >= "1" && key <= "9" && Number(key) <= model.play.data.inputs.length) {
    model.play.toggle(Number(key) - 1);
  } else return false;
  return true;
}

function follow(model) {
  const number = model.numberAt(model.cursor);
  if (number === undefined || !model.play.look(number)) return;
  model.follow(number, !model.followed.includes(number));
}

function makePointer(model, layers, board) {
  const touchDraws = byId("draw-touch");
  let stroke = null;
  touchDraws.addEventListener("change", () => {
    board.classList.toggle("draws-by-touch", touchDraws.checked);
  });
  board.addEventListener("pointerdown", (event) => {
    const cell = layers.cellAt(event);
    if (!cell || event.button > 0 || !model.state) return;
    board.focus({ preventScroll: true });
    if (!model.holds(cell)) {
      outside(model, cell);
      return;
    }
    const touch = event.pointerType === "touch" && !touchDraws.checked;
    if (event.shiftKey) model.go(cell, { extend: true });
    const inside = model.anchor && model.inBlock(cell) && !event.shiftKey;
    const kind = model.tool !== "choose" ? "paint" : inside ? "carry" : "choose";
    stroke = { kind, from: cell, cells: [cell], touch, id: event.pointerId, copy: event.altKey };
    if (kind === "choose" && !event.shiftKey) model.go(cell);
    else if (kind === "paint") model.go(cell);
    if (!touch) board.setPointerCapture(event.pointerId);
  });
  board.addEventListener("pointermove", (event) => {
    if (!stroke || stroke.touch || event.pointerId !== stroke.id) return;
    const cell = layers.cellIn(stroke.from[2], event);
    if (!model.holds(cell)) return;
    if (stroke.kind === "choose") model.go(cell, { extend: true });
    else if (stroke.kind === "paint" && !stroke.cells.some((other) => other.join() === cell.join())) {
      stroke.cells.push(cell);
      model.lit = stroke.cells;
      model.tell("cursor");
    } else stroke.to = cell;
  });
  const end = (event) => {
    if (!stroke || event.pointerId !== stroke.id) return;
    const { kind, cells, from, to = from, copy } = stroke;
    stroke = null;
    if (event.type === "pointercancel") return;
    if (kind === "paint") {
      model.lit = [];
      model.use(model.tool === "pin" ? [cells.at(-1)] : cells);
    } else if (kind === "carry") {
      const by = to.map((at, axis) => at - from[axis]);
      if (by.some(Boolean)) model.move(by, copy);
      else model.go(from);
    }
  };
  board.addEventListener("pointerup", end);
  board.addEventListener("pointercancel", end);
}

/** A press beyond the frame, at a side: a pin is set there, or changed. */
function outside(model, cell) {
  const near = model.inside(cell);
  const away = cell.filter((at, axis) => at !== near[axis]).length;
  if (away !== 1) return;
  model.go(near);
  const axis = cell.findIndex((at, index) => at !== near[index]);
  model.pinFace = `${cell[axis] < near[axis] ? "-" : "+"}${"xyz"[axis]}`;
  model.tell("pin");
}

/** What a press in the model means: a part is put before the face, or the cell is chosen. */
export function pickInModel(model, number, spot) {
  const faces = PARTS.includes(model.tool);
  const cell = faces ? spot() : number === null ? null : data.cells[number].at;
  if (!cell) return;
  if (!model.holds(cell)) {
    if (!faces && number !== null && data.cells[number].outside) outside(model, cell);
    return;
  }
  model.go(cell);
  if (model.tool !== "choose") model.use([cell]);
}

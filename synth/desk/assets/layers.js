// The layers, flat, one drawing each: cells, pins beyond the frame, cursor, block, locks, findings.
// A drawing shows what it is given; what a press on it means is for whoever listens.

import { makeSvg } from "page/dom";
import { showPower } from "page/power";

export const UNIT = 60;
/** A number for each symbol, so that drawings are compared quickly. */
const KNOWN = new Map();
function idOf(art) {
  if (!KNOWN.has(art)) KNOWN.set(art, KNOWN.size);
  return KNOWN.get(art);
}

const EDGE = UNIT + 26; // beyond the frame: what stands outside pins, and the numbers of the cells

export class Layers {
  constructor(host) {
    this.host = host;
    this.figures = [];
    this.cells = new Map();
  }

  /** Draws a layout anew; cells that are as before stay as they are. */
  draw(data, locked = new Set()) {
    this.data = data;
    const [, , height] = data.size;
    const faulty = new Set(data.faults.map(({ cell }) => cell));
    const leftOut = new Set(data.leftOut);
    const layers = Array.from({ length: height }, () => []);
    data.cells.forEach(({ at }, number) => {
      if (at[2] >= 0 && at[2] < height) layers[at[2]].push(number);
    });
    const size = data.size.slice(0, 2).join();
    if (size !== this.size) this.figures.splice(0).forEach(({ figure }) => figure.remove());
    this.size = size;
    while (this.figures.length > height) this.figures.pop().figure.remove();
    while (this.figures.length < height) this.figures.push(this.blank(this.figures.length));
    this.cells = new Map();
    this.figures.forEach((layer, z) => {
      this.fill(layer, layers[z], faulty, leftOut);
      const marks = [...locked].filter((key) => key.endsWith(`,${z}`));
      layer.locks.replaceChildren(...marks.map((mark) => this.lock(mark.split(",").map(Number))));
    });
  }

  /** Puts cells into a layer, and takes out those that are there no more. */
  fill(layer, numbers, faulty, leftOut) {
    const before = layer.places;
    layer.places = new Map();
    for (const number of numbers) {
      const place = this.data.cells[number].at.join();
      const marks = [faulty.has(number), leftOut.has(number)];
      const key = this.keyOf(number, marks);
      let cell = before.get(place);
      if (cell?.key === key) before.delete(place);
      else cell = { key, ...this.cell(number, ...marks) };
      if (cell.number !== number) cell.group.dataset.cell = cell.number = number;
      if (!cell.group.isConnected) layer.drawn.append(cell.group);
      layer.places.set(place, cell);
      this.cells.set(number, cell);
    }
    for (const { group } of before.values()) group.remove();
  }

  /** What a drawn cell depends on. */
  keyOf(number, marks) {
    const { cells, art, symbols, captions, pins } = this.data;
    const { outside, part } = cells[number];
    const pin = outside ? pins.find((one) => one.cell === number) : null;
    const named = pin ? `${pin.name} ${pin.role} ${pin.face}` : "";
    return `${part}|${idOf(art[symbols[number]] ?? "")}|${captions[number]}|${named}|${marks}`;
  }

  blank(z) {
    const [length, width] = this.data.size;
    const [wide, high] = [length * UNIT + 2 * EDGE, width * UNIT + 2 * EDGE];
    const figure = document.createElement("figure");
    figure.className = "plan";
    figure.dataset.layer = z;
    figure.style.setProperty("--units", wide);
    const caption = document.createElement("figcaption");
    caption.textContent = `z = ${z}`;
    const scroll = document.createElement("div");
    scroll.className = "plan-scroll";
    const svg = makeSvg("svg", { viewBox: `0 0 ${wide} ${high}`, "aria-hidden": "true" });
    const [drawn, locks] = [makeSvg("g"), makeSvg("g")];
    svg.append(
      this.frame(z),
      drawn,
      locks,
      makeSvg("g", { class: "lit" }),
      makeSvg("rect", { class: "block-mark", rx: 4, visibility: "hidden" }),
      makeSvg("rect", { class: "cursor-mark", width: UNIT, height: UNIT, visibility: "hidden" }),
    );
    scroll.append(svg);
    figure.append(caption, scroll);
    this.host.append(figure);
    return { figure, svg, drawn, locks, places: new Map() };
  }

  corner([x, y]) {
    return [EDGE + x * UNIT, EDGE + (this.data.size[1] - 1 - y) * UNIT];
  }

  frame(z) {
    const [length, width] = this.data.size;
    const [across, down] = [length * UNIT, width * UNIT];
    const lines = [];
    for (let x = 1; x < length; x += 1) lines.push(`M${EDGE + x * UNIT} ${EDGE}v${down}`);
    for (let y = 1; y < width; y += 1) lines.push(`M${EDGE} ${EDGE + y * UNIT}h${across}`);
    const words = [];
    for (let x = 0; x < length; x += 1) {
      words.push([`${x ? "" : "x = "}${x}`, EDGE + (x + 0.5) * UNIT, EDGE + down + EDGE - 8]);
    }
    for (let y = 0; y < width; y += 1) {
      words.push([`${y}`, 12, this.corner([0, y, z])[1] + UNIT / 2 + 5]);
    }
    words.push(["y", 12, EDGE + down + EDGE - 8]);
    return makeSvg(
      "g",
      {},
      makeSvg("path", { class: "grid", d: lines.join("") }),
      makeSvg("rect", { class: "frame", x: EDGE, y: EDGE, width: across, height: down }),
      ...words.map(([text, x, y]) => makeSvg("text", { class: "axis", x, y }, text)),
    );
  }

  /** Draws one cell: its group, and what of it shows power. */
  cell(number, faulty, leftOut) {
    const { cells, art, symbols, captions, pins } = this.data;
    const cell = cells[number];
    const [x, y] = this.corner(cell.at);
    const kind = ["cell", cell.outside ? "outside" : "inside"];
    if (faulty) kind.push("is-faulty");
    if (leftOut) kind.push("is-left-out");
    const group = makeSvg("g", {
      class: kind.join(" "),
      "data-cell": number,
      transform: `translate(${x} ${y})`,
    });
    group.append(makeSvg("rect", { class: "ground", width: UNIT, height: UNIT }));
    const symbol = makeSvg("g", cell.outside ? { transform: "translate(0 9)" } : {});
    symbol.innerHTML = art[symbols[number]] ?? "";
    group.append(symbol);
    const pin = pins.find((one) => one.cell === number);
    if (pin) {
      const name = makeSvg("text", { class: "pin", x: 30, y: 13 }, pin.name);
      if (pin.name.length > 5) {
        name.setAttribute("textLength", UNIT - 4);
        name.setAttribute("lengthAdjust", "spacingAndGlyphs");
      }
      const out = { "+x": "\u2192", "-x": "\u2190", "+y": "\u2191", "-y": "\u2193" };
      const way = { "+x": "-x", "-x": "+x", "+y": "-y", "-y": "+y" };
      const arrow = out[pin.role === "output" ? pin.face : way[pin.face]];
      group.append(name, makeSvg("text", { class: "arrow", x: 11, y: 57 }, arrow));
    }
    if (faulty) {
      group.append(
        makeSvg("path", { class: "fault-mark", d: "M3 3h15L3 18z" }),
        makeSvg("text", { class: "fault-sign", x: 7.5, y: 12.5 }, "!"),
      );
    }
    if (captions[number]) {
      group.append(makeSvg("text", { class: "orientation", x: 30, y: 57 }, captions[number]));
    }
    const value = makeSvg("text", { class: "value", x: 57, y: cell.outside ? 57 : 13 });
    group.append(value);
    return { group, value, number, part: cell.part };
  }

  /** A lock in the lower left corner of a cell. */
  lock(cell) {
    const [x, y] = this.corner(cell);
    return makeSvg("path", {
      class: "lock-mark",
      d: "M4 48h13v9H4zM6.5 48v-3.5a4 4 0 0 1 8 0V48",
      transform: `translate(${x} ${y})`,
    });
  }

  paint(play) {
    for (const cell of this.cells.values()) {
      const look = play.look(cell.number);
      if (look) showPower(cell, look, this.data.reach);
    }
  }

  /** Shows where the hand is, and which cells a finding names. */
  mark(cursor, [low, high], lit, classes = {}) {
    this.figures.forEach(({ figure, svg }, z) => {
      const here = z === cursor[2];
      figure.classList.toggle("is-here", here);
      const at = svg.querySelector(".cursor-mark");
      at.setAttribute("visibility", here ? "visible" : "hidden");
      const [x, y] = this.corner(cursor);
      at.setAttribute("x", x);
      at.setAttribute("y", y);
      const block = svg.querySelector(".block-mark");
      const shown = low.join() !== high.join() && z >= low[2] && z <= high[2];
      block.setAttribute("visibility", shown ? "visible" : "hidden");
      if (shown) this.cover(block, low, high);
      const marks = lit
        .filter((cell) => cell[2] === z)
        .map((cell) => {
          const mark = makeSvg("rect", { class: `lit-mark ${classes[cell.join()] ?? ""}`, rx: 3 });
          this.cover(mark, cell, cell);
          return mark;
        });
      svg.querySelector(".lit").replaceChildren(...marks);
    });
  }

  cover(rectangle, low, high) {
    const [x] = this.corner(low);
    const [, y] = this.corner(high);
    const [across, down] = [0, 1].map((axis) => (high[axis] - low[axis] + 1) * UNIT);
    const values = { x: x - 2, y: y - 2, width: across + 4, height: down + 4 };
    for (const [name, value] of Object.entries(values)) rectangle.setAttribute(name, value);
  }

  /** The cell under a point of the window; beyond the frame it is one outside. */
  cellAt(event) {
    const figure = event.target.closest?.(".plan") ?? null;
    if (!figure || !this.host.contains(figure)) return null;
    return this.cellIn(Number(figure.dataset.layer), event);
  }

  cellIn(z, { clientX, clientY }) {
    const box = this.figures[z].svg.getBoundingClientRect();
    const [length, width] = this.data.size;
    const scale = (length * UNIT + 2 * EDGE) / box.width;
    const x = Math.floor(((clientX - box.left) * scale - EDGE) / UNIT);
    const y = width - 1 - Math.floor(((clientY - box.top) * scale - EDGE) / UNIT);
    return [x, y, z];
  }

  reveal([x, y, z]) {
    const mark = this.figures[z]?.svg.querySelector(".cursor-mark");
    if (mark && x >= 0 && y >= 0) mark.scrollIntoView({ block: "nearest", inline: "nearest" });
  }
}

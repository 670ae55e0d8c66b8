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

  /** Draws a layout anew; layers that are as before stay as they are. */
  draw(data, locked = new Set()) {
    this.data = data;
    const [, , height] = data.size;
    const layers = Array.from({ length: height }, () => []);
    data.cells.forEach((cell, number) => {
      const [, , z] = cell.at;
      if (z >= 0 && z < height) layers[z].push(number);
    });
    const size = data.size.slice(0, 2).join();
    while (this.figures.length > height) this.figures.pop().figure.remove();
    for (let z = 0; z < height; z += 1) {
      const marks = [...locked].filter((key) => key.endsWith(`,${z}`));
      const key = `${size}|${layers[z].map((number) => this.keyOf(number)).join("|")}|${marks}`;
      if (this.figures[z]?.key === key) this.renumber(z, layers[z]);
      else this.drawLayer(z, layers[z], marks, key);
    }
    this.cells = new Map(this.figures.flatMap(({ cells }) => cells.map((one) => [one.number, one])));
  }

  keyOf(number) {
    const { cells, art, symbols, captions, faults, leftOut } = this.data;
    const { at, outside, title } = cells[number];
    const faulty = faults.some((fault) => fault.cell === number);
    return [at, idOf(art[symbols[number]] ?? ""), captions[number], outside, title, faulty, leftOut.includes(number)];
  }

  renumber(z, numbers) {
    this.figures[z].cells.forEach((cell, index) => {
      cell.number = numbers[index];
      cell.group.dataset.cell = numbers[index];
    });
  }

  drawLayer(z, numbers, marks, key) {
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
    svg.append(this.frame(z), ...numbers.map((number) => this.cell(number)));
    for (const mark of marks) svg.append(this.lock(mark.split(",").map(Number)));
    svg.append(
      makeSvg("g", { class: "lit" }),
      makeSvg("rect", { class: "block-mark", rx: 4, visibility: "hidden" }),
      makeSvg("rect", { class: "cursor-mark", width: UNIT, height: UNIT, visibility: "hidden" }),
    );
    scroll.append(svg);
    figure.append(caption, scroll);
    const cells = [...svg.querySelectorAll(".cell")].map((group, index) => ({
      group,
      number: numbers[index],
      part: this.data.cells[numbers[index]].part,
      value: group.querySelector(".value"),
    }));
    const made = { key, figure, svg, cells };
    const old = this.figures[z];
    if (old) old.figure.replaceWith(figure);
    else this.host.append(figure);
    this.figures[z] = made;
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

  cell(number) {
    const { cells, art, symbols, captions, faults, leftOut, pins } = this.data;
    const cell = cells[number];
    const [x, y] = this.corner(cell.at);
    const kind = ["cell", cell.outside ? "outside" : "inside"];
    const faulty = faults.some((fault) => fault.cell === number);
    if (faulty) kind.push("is-faulty");
    if (leftOut.includes(number)) kind.push("is-left-out");
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
    group.append(makeSvg("text", { class: "value", x: 57, y: cell.outside ? 57 : 13 }));
    return group;
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

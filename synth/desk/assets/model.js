// What the page knows: the design as the server tells it, and where the hand is: cursor, block, tool.

import { data } from "page/dom";
import { Link } from "desk/link";
import { LivePlay } from "desk/live";

export const PARTS = ["solid", "clear", "ledge", "wire", "inverter", "buffer"];

export class Model extends EventTarget {
  constructor() {
    super();
    this.link = new Link();
    this.state = null;
    this.judged = null;
    this.review = null;
    this.jobs = [];
    this.cursor = [0, 0, 0];
    this.anchor = null; // the other corner of the block, if there is one
    this.tool = "choose";
    this.way = ""; // as the server thinks best
    this.ticks = 1;
    this.clip = null;
    this.lit = []; // cells that a finding names
    this.followed = [];
    this.play = new LivePlay((order, values) => this.order(order, values), (cell) => data.cells[cell].part);
    this.play.addEventListener("change", () => this.tell("play"));
    this.link.addEventListener("open", () => {
      const design = this.state?.design ?? new URLSearchParams(location.search).get("design");
      this.order("hello", { design }).then(() => this.say(""));
    });
    this.link.addEventListener("lost", () => {
      this.say("The server does not answer. Nothing is lost: if it was ended, start gatefit desk again and open the address that it prints.", true);
    });
    this.link.addEventListener("told", ({ detail }) => this.take(detail));
  }

  tell(what) {
    this.dispatchEvent(new Event(what));
  }

  /** Says a sentence to the user. */
  say(text, wrong = false) {
    Object.assign(this, { words: text, wrong });
    this.tell("said");
  }

  /** Gives an order; what is wrong with it is said, and the answer is then null. */
  async order(order, values = {}) {
    try {
      const answer = await this.link.ask(order, values);
      this.take(answer);
      if (answer.label) this.say(answer.label);
      return answer;
    } catch (error) {
      this.say(error.message, true);
      return null;
    }
  }

  edit(kind, values) {
    return this.order("edit", { edit: { kind, ...values } });
  }

  take(message) {
    if (message.state) {
      const { scene, ...state } = message.state;
      const other = this.state?.design !== state.design;
      this.state = state;
      Object.assign(data, scene);
      this.index();
      if (other) this.begin();
      this.cursor = this.inside(this.cursor);
      if (this.anchor) this.anchor = this.inside(this.anchor);
      this.tell("state");
      this.play.take(scene.play);
    }
    if (message.beside !== undefined) {
      this.state.beside = message.beside;
      this.tell("beside");
    }
    if (message.play) this.play.take(message.play);
    if (message.judged) {
      this.judged = message.judged;
      this.tell("judged");
    }
    if (message.review) {
      this.review = message.review;
      this.tell("judged");
    }
    if (message.versions && this.state) {
      this.state.versions = message.versions;
      this.tell("versions");
    }
    if (message.jobs) {
      this.jobs = message.jobs;
      this.tell("jobs");
    }
  }

  /** Another design: nothing of the last one stays. */
  begin() {
    const { design } = this.state;
    Object.assign(this, { judged: null, review: null, anchor: null, lit: [], followed: [] });
    this.cursor = [0, 0, Math.min(1, data.size[2] - 1)];
    const address = new URL(location.href);
    address.searchParams.set("design", design);
    history.replaceState(null, "", address);
    if (this.state.remark) this.say(this.state.remark);
  }

  index() {
    this.numbers = new Map(data.cells.map((cell, number) => [cell.at.join(), number]));
    this.locked = new Set(this.state.locked.map((cell) => cell.join()));
  }

  numberAt(cell) {
    return this.numbers.get(cell.join());
  }

  /** What stands in a cell, or undefined. */
  at(cell) {
    const number = this.numberAt(cell);
    const found = number === undefined ? undefined : data.cells[number];
    return found && found.part !== "empty" ? found : undefined;
  }

  inside(cell) {
    return cell.map((at, axis) => Math.max(0, Math.min(at, data.size[axis] - 1)));
  }

  holds(cell) {
    return cell.every((at, axis) => at >= 0 && at < data.size[axis]);
  }

  // The hand

  get block() {
    const other = this.anchor ?? this.cursor;
    const low = this.cursor.map((at, axis) => Math.min(at, other[axis]));
    const high = this.cursor.map((at, axis) => Math.max(at, other[axis]));
    return [low, high];
  }

  cellsOfBlock() {
    const [low, high] = this.block;
    const cells = [];
    for (let z = low[2]; z <= high[2]; z += 1) {
      for (let y = low[1]; y <= high[1]; y += 1) {
        for (let x = low[0]; x <= high[0]; x += 1) cells.push([x, y, z]);
      }
    }
    return cells;
  }

  inBlock([x, y, z]) {
    const [low, high] = this.block;
    return [x, y, z].every((at, axis) => at >= low[axis] && at <= high[axis]);
  }

  go(cell, { extend = false } = {}) {
    if (extend) this.anchor ??= this.cursor;
    else this.anchor = null;
    this.cursor = this.inside(cell);
    this.tell("cursor");
  }

  light(cells) {
    this.lit = cells;
    if (cells.length && this.holds(cells[0])) this.go(cells[0]);
    else this.tell("cursor");
  }

  choose(tool) {
    this.tool = tool;
    this.tell("tool");
  }

  follow(number, on) {
    const others = this.followed.filter((other) => other !== number);
    this.followed = on ? [...others, number] : others;
    this.tell("play");
  }

  // What the hand does

  /** Puts a part into cells; facing and ticks as the palette says. */
  put(part, cells) {
    if (part === "empty") return this.edit("put", { empty: cells });
    const values = { cells, part };
    if (this.way && (part === "buffer" || part === "inverter")) values.facing = this.way;
    if (part === "buffer") values.ticks = this.ticks;
    return this.edit("place", values);
  }

  lock(cells) {
    const on = !cells.every((cell) => this.locked.has(cell.join()));
    return this.edit("lock", { cells, on });
  }

  turn(quarters) {
    const [low, high] = this.block;
    if (low.join() === high.join()) return this.edit("turn", { cells: [low], quarters });
    return this.edit("turn", { box: [low, high], quarters });
  }

  mirror(axis) {
    return this.edit("mirror", { box: this.block, axis });
  }

  /** Moves the block; the hand goes along at once, so that the next key already means the new place. */
  async move(by, copy = false) {
    const { block: box, cursor, anchor } = this;
    const moved = (cell) => this.inside(cell.map((at, axis) => at + by[axis]));
    this.cursor = moved(cursor);
    this.anchor = anchor && moved(anchor);
    const answer = await this.edit("move", { box, by, copy });
    if (!answer) Object.assign(this, { cursor, anchor });
    this.tell("cursor");
  }

  copy() {
    const [low] = this.block;
    const parts = this.cellsOfBlock()
      .map((cell) => this.at(cell))
      .filter((part) => part && !part.outside)
      .map(({ at, part, orientation, delay }) => ({
        by: at.map((place, axis) => place - low[axis]),
        part,
        ...(part === "inverter" ? { on: orientation } : {}),
        ...(part === "buffer" ? { to: orientation, delay } : {}),
      }));
    this.clip = parts;
    this.say(`${parts.length} ${parts.length === 1 ? "part" : "parts"} copied`);
  }

  paste() {
    if (!this.clip) return this.say("Nothing has been copied yet.", true);
    const [low] = this.block;
    const parts = this.clip.map(({ by, ...part }) => ({
      ...part,
      at: by.map((place, axis) => place + low[axis]),
    }));
    return this.edit("put", { parts });
  }

  /** The tool that is chosen, used on cells. */
  use(cells) {
    if (PARTS.includes(this.tool) || this.tool === "empty") return this.put(this.tool, cells);
    if (this.tool === "lock") return this.lock(cells);
    if (this.tool === "pin") this.tell("pin");
    return null;
  }
}

// The play: walks the graph of moments that the simulator worked out. It only looks things up.
//
// A moment is [row of inputs, looks, outputs, state after it]; `enter` gives the moment of a state
// and a row of inputs. The timeline is the list of moments shown, the cursor a place in it.
// Readers see ticks counted from the last change of the inputs, which is tick 0 (`tickOf`).

import { Cursor } from "page/cursor";

const TICKS_AFTER = 2; // ticks shown after all has settled
const MOST_ROUNDS = 24; // ticks shown of a layout that oscillates
const MOST_TICKS = 400; // ticks of the past that are kept

export class Play extends Cursor {
  constructor(play) {
    super();
    this.data = play;
    this.digit = new Map([...play.alphabet].map((sign, index) => [sign, index]));
    this.liveIndex = new Map(play.live.map((cell, index) => [cell, index]));
    this.enter = play.enter.map((flat) => {
      const entries = new Map();
      for (let at = 0; at < flat.length; at += 2) entries.set(flat[at], flat[at + 1]);
      return entries;
    });
    this.rest = new Map(play.rest);
    this.timeline = [this.rest.get(0)];
    this.changes = [];
    this.remark = "";
    this.signs = new Map();
    this.extend(0);
    this.timeline.length = Math.min(this.timeline.length, 3);
  }

  // What is shown.

  row(tick = this.cursor) {
    return this.data.moments[this.timeline[tick]][0];
  }

  outputs(tick = this.cursor) {
    return this.data.moments[this.timeline[tick]][2];
  }

  /** The state of a cell at a tick: {value, text, why}, or null for a part without power. */
  look(cell, tick = this.cursor) {
    const live = this.liveIndex.get(cell);
    if (live === undefined) return null;
    const sign = this.signsOf(this.timeline[tick])[live];
    const [value, text, why] = this.data.situations[live][this.digit.get(sign)];
    return { value, text: this.data.sentences[text], why: this.data.sentences[why] };
  }

  /** The characters of a moment, one for each live cell, split once. */
  signsOf(moment) {
    if (!this.signs.has(moment)) this.signs.set(moment, [...this.data.moments[moment][1]]);
    return this.signs.get(moment);
  }

  /** The place from which ticks are counted: the last change of the inputs. */
  get origin() {
    return this.changes.at(-1)?.tick ?? 0;
  }

  // Moving on.

  next(moment, row) {
    return this.enter[this.data.moments[moment][3]].get(row);
  }

  /** Appends moments while the inputs stay the same, until they settle or repeat. */
  extend(row) {
    const seen = new Set();
    let moment = this.timeline.at(-1);
    while (!seen.has(moment) && seen.size < MOST_ROUNDS) {
      seen.add(moment);
      const following = this.next(moment, row);
      if (following === undefined) return;
      const still = following === moment;
      moment = following;
      for (let count = still ? TICKS_AFTER : 1; count > 0; count -= 1) this.timeline.push(moment);
      if (still) return;
    }
  }

  /** Rows that can follow a settled row, as far as the page holds them. */
  rowsAfter(row) {
    const state = this.data.moments[this.rest.get(row)][3];
    return [...this.enter[state].keys()].filter((other) => other !== row).sort((a, b) => a - b);
  }

  /** Shows the change from one settled row of inputs to another. */
  jump(from, to) {
    const start = this.rest.get(from);
    const second = this.next(start, from) ?? start;
    this.timeline = [start, second];
    this.changes = [];
    this.remark = "";
    this.change(to);
    this.cursor = 1;
    this.start();
  }

  /** How the play got here: the settled row at the start, then every change. */
  story() {
    const first = this.row(0);
    if (this.timeline[0] !== this.rest.get(first)) return null;
    return [[first, 0], ...this.changes.map(({ tick, row }) => [row, tick])];
  }

  /** Replays such a story and shows a tick; returns whether the page knows all its moments. */
  replay(story, tick) {
    const [[first], ...changes] = story;
    if (!this.rest.has(first)) return false;
    this.stop();
    const before = [this.timeline, this.changes, this.remark];
    [this.timeline, this.changes, this.remark] = [[this.rest.get(first)], [], ""];
    for (const [row, place] of changes) {
      this.timeline.length = Math.min(this.timeline.length, Math.max(place, 1));
      while (this.timeline.length < Math.min(place, MOST_TICKS)) {
        const on = this.next(this.timeline.at(-1), this.row(this.timeline.length - 1));
        this.timeline.push(on ?? this.timeline.at(-1));
      }
      if (this.next(this.timeline.at(-1), row) === undefined) {
        [this.timeline, this.changes, this.remark] = before;
        return false;
      }
      this.change(row);
    }
    if (!changes.length) {
      this.extend(first);
      this.timeline.length = Math.min(this.timeline.length, 3);
    }
    this.shown(this.origin + tick);
    return true;
  }

  change(row) {
    this.changes.push({ tick: this.timeline.length, row });
    this.timeline.push(this.next(this.timeline.at(-1), row));
    this.extend(row);
  }

  /** Shows the settled state of a row of inputs, without any past. */
  settle(row) {
    this.stop();
    [this.timeline, this.changes, this.remark] = [[this.rest.get(row)], [], ""];
    this.extend(row);
    this.timeline.length = Math.min(this.timeline.length, 3);
    this.shown(0);
  }

  /** Switches one input at the tick after the one shown. */
  toggle(input) {
    const old = this.row();
    const row = old ^ (1 << (this.data.inputs.length - 1 - input));
    this.timeline.length = this.cursor + 1;
    this.changes = this.changes.filter((change) => change.tick <= this.cursor);
    this.remark = "";
    if (!this.waitFor(row, old)) {
      // The page does not know this change from here: go by way of the settled moment.
      this.timeline.push(this.rest.get(old));
      this.remark = "The change was played from the settled layout.";
      if (this.next(this.timeline.at(-1), row) === undefined) {
        this.changes.push({ tick: this.timeline.length, row });
        this.timeline.push(this.rest.get(row));
        this.remark = "This page does not hold that change, so it shows the settled layout.";
        this.shown(this.lastTick);
        return;
      }
    }
    const tick = this.timeline.length;
    this.change(row);
    this.trim();
    this.cursor = Math.max(0, Math.min(tick, this.lastTick));
    this.start();
  }

  /** Goes on with the old inputs until the page knows a moment for the new ones. */
  waitFor(row, old) {
    for (let waited = 0; waited < MOST_ROUNDS; waited += 1) {
      const moment = this.timeline.at(-1);
      if (this.next(moment, row) !== undefined) return true;
      const following = this.next(moment, old);
      if (following === undefined || following === moment) return false;
      this.timeline.push(following);
      this.remark = "The switch took effect after the layout had settled.";
    }
    return false;
  }

  trim() {
    const surplus = this.timeline.length - MOST_TICKS;
    if (surplus <= 0) return;
    this.timeline.splice(0, surplus);
    this.cursor -= surplus;
    this.changes = this.changes
      .map((change) => ({ ...change, tick: change.tick - surplus }))
      .filter((change) => change.tick >= 0);
  }

  /** The last change, and the tick from which the outputs stay the same; null if they never do. */
  settling() {
    const change = this.changes.at(-1);
    if (!change) return null;
    const last = this.timeline.at(-1);
    const still = this.next(last, change.row) === last;
    const settled = this.outputs(this.lastTick);
    let tick = this.lastTick;
    while (tick > change.tick && this.outputs(tick - 1) === settled) tick -= 1;
    return { change, ticks: still ? tick - change.tick : null };
  }
}

// The play of the design as it stands: ticks that the simulator played, looked up here. It has the
// same questions and answers as the play of a page of a layout, so the same drawings show it.

import { Cursor } from "page/cursor";

const WORDS = {
  wire: (value) => (value ? `strength ${value}` : "no power"),
  solid: (value) => ["not charged", "charged", "charged and driven"][value],
  inverter: (value) => (value ? "on" : "off"),
  buffer: (value) => (value ? "on" : "off"),
};

export class LivePlay extends Cursor {
  /** `ask` gives orders to the server; `parts` says what kind of part a cell is. */
  constructor(ask, partOf) {
    super();
    Object.assign(this, { ask, partOf });
    this.data = { inputs: [], outputs: [] };
    this.live = new Map();
    this.digit = new Map();
    this.origin = 0;
    this.atRest = true;
    this.slowly = false;
  }

  /** Takes up what was played; shows its end, or lets it run there. */
  take(play) {
    this.stop();
    this.data = { inputs: play.inputs, outputs: play.outputs };
    this.live = new Map(play.live.map((cell, index) => [cell, index]));
    this.digit = new Map([...play.alphabet].map((sign, index) => [sign, index]));
    this.timeline = play.ticks.map(([inputs, outputs, looks]) => {
      return { inputs, outputs, looks: [...looks] };
    });
    this.origin = play.origin;
    this.atRest = play.atRest;
    this.cursor = this.slowly ? Math.max(0, this.origin) : this.lastTick;
    if (this.slowly && this.lastTick > this.cursor) this.start();
    else this.shown(this.cursor);
  }

  row(tick = this.cursor) {
    const { inputs } = this.timeline[tick];
    return inputs ? BigInt(`0b${inputs}`) : 0;
  }

  bits(tick = this.cursor) {
    return this.timeline[tick].inputs;
  }

  outputs(tick = this.cursor) {
    return this.timeline[tick].outputs;
  }

  /** How a cell stands at a tick: {value, text}, or null for a part without power. */
  look(cell, tick = this.cursor) {
    const live = this.live.get(cell);
    if (live === undefined) return null;
    const value = this.digit.get(this.timeline[tick].looks[live]);
    return { value, text: WORDS[this.partOf(cell)]?.(value) ?? String(value) };
  }

  get changes() {
    return [{ tick: this.origin }];
  }

  get firstPlayed() {
    return this.origin;
  }

  /** Shows a tick; beyond the last one it plays on. */
  show(tick) {
    if (tick <= this.lastTick) {
      super.show(tick);
    } else {
      this.stop();
      this.ask("run", { ticks: 1 });
    }
  }

  toggle(input) {
    const value = 1 - Number(this.bits()[input]);
    this.ask("switch", { tick: this.cursor, inputs: { [this.data.inputs[input]]: value } });
  }

  settle(bits) {
    const inputs = Object.fromEntries(this.data.inputs.map((name, at) => [name, Number(bits[at])]));
    this.ask("switch", { tick: this.lastTick, inputs });
  }
}

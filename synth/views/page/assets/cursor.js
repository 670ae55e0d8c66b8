// The cursor: which tick of a play is shown, and how it moves on by itself.

/** What every play is. Whoever extends it keeps the `timeline`, and the `origin` of its ticks. */
export class Cursor extends EventTarget {
  constructor() {
    super();
    this.timeline = [];
    this.cursor = 0;
    this.timer = null;
    this.ticksPerSecond = 2;
  }

  /** The tick of a place of the timeline, counted from the last change of the inputs. */
  tickOf(place = this.cursor) {
    return place - this.origin;
  }

  get lastTick() {
    return this.timeline.length - 1;
  }

  get playing() {
    return this.timer !== null;
  }

  /** Shows a place of the timeline; playing goes on. */
  shown(tick) {
    this.cursor = Math.max(0, Math.min(tick, this.lastTick));
    this.dispatchEvent(new Event("change"));
  }

  /** Shows a place of the timeline and stops there. */
  show(tick) {
    this.stop();
    this.shown(tick);
  }

  /** The place from which playing begins again once it has come to the end. */
  get firstPlayed() {
    return 0;
  }

  start() {
    this.stop();
    if (this.cursor >= this.lastTick) this.cursor = this.firstPlayed;
    this.timer = setInterval(() => {
      if (this.cursor >= this.lastTick) this.show(this.lastTick);
      else this.shown(this.cursor + 1);
    }, 1000 / this.ticksPerSecond);
    this.shown(this.cursor);
  }

  stop() {
    clearInterval(this.timer);
    this.timer = null;
  }

  speed(ticksPerSecond) {
    this.ticksPerSecond = ticksPerSecond;
    if (this.playing) this.start();
  }
}

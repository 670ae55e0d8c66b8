// Ties the page together: one play, one choice of cells, and every view painted after a change.

import { makeAddress } from "page/address";
import { makeControls } from "page/controls";
import { byId, data } from "page/dom";
import { makeFaults } from "page/faults";
import { makeInspector } from "page/inspector";
import { makePlans } from "page/plans";
import { Play } from "page/play";
import { makeScene } from "page/scene";
import { makeWaves } from "page/waves";

/** Which cell is pointed at, which is chosen and from where, and which are followed. */
class Picks extends EventTarget {
  selected = null;
  hovered = null;
  followed = [];
  /** The cells gone through on the way to the chosen one. */
  trail = [];
  /** The element that the choice was made on. */
  from = null;

  /** What is chosen stays, so that the way to its card crosses no other cell. */
  get shown() {
    return this.selected ?? this.hovered;
  }

  hover(cell, from = null) {
    if (cell !== this.hovered) this.set({ hovered: cell, over: from });
  }

  select(cell, from = null) {
    this.set({ selected: cell, from, trail: [] });
  }

  /** From a chosen cell to a cause of it. */
  goOn(cell) {
    this.set({ trail: [...this.trail, this.selected], selected: cell });
  }

  back() {
    this.set({ selected: this.trail.at(-1), trail: this.trail.slice(0, -1) });
  }

  follow(cell, on) {
    const others = this.followed.filter((other) => other !== cell);
    this.set({ followed: on ? [...others, cell] : others });
  }

  set(values) {
    Object.assign(this, values);
    this.dispatchEvent(new Event("change"));
  }
}

const play = data.play ? new Play(data.play) : null;
const picks = new Picks();
const address = makeAddress(play, picks);
const painters = [makePlans(play, picks)];
if (play) painters.push(makeControls(play), makeWaves(play, picks));
else document.body.classList.add("not-played");
makeFaults(picks);
// Last, for it stands beside what the others have drawn.
const inspect = makeInspector(play, picks);

const paint = () => {
  painters.forEach((painter) => painter());
  inspect();
  address.write();
};
play?.addEventListener("change", paint);
picks.addEventListener("change", paint);
window.addEventListener("resize", paint);
window.addEventListener("scroll", () => picks.shown !== null && inspect(), {
  capture: true,
  passive: true,
});

makeScene(byId("canvas"), play, picks).then((scene) => {
  painters.push(scene.paint);
  scene.changed = () => {
    inspect();
    address.write();
  };
  // Beside the cell in whichever drawing it was chosen in, else in the one in sight.
  picks.anchor = (cell) => {
    const plan = document.querySelector(`#plans [data-cell="${cell}"]`);
    const inModel = scene.rectangle(cell);
    const from = picks.selected === null ? picks.over : picks.from;
    const box = plan?.getBoundingClientRect();
    if (from?.closest?.("#plans") || !inModel) return box;
    return from || inSight(inModel) || !box ? inModel : box;
  };
  address.attach(scene);
  address.read();
  paint();
  document.body.classList.add("is-ready");
});
paint();

function inSight({ top, bottom }) {
  return bottom > 0 && top < document.documentElement.clientHeight;
}

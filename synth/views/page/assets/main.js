// Ties the page together: one play, one choice of cells, and all views repainted after a change.

import { makeAddress } from "page/address";
import { makeControls } from "page/controls";
import { byId, data } from "page/dom";
import { makeFaults } from "page/faults";
import { makeInspector } from "page/inspector";
import { makePieces } from "page/pieces";
import { makePlans } from "page/plans";
import { Play } from "page/play";
import { makeScene } from "page/scene";
import { makeWaves } from "page/waves";

/** The cell pointed at, the cell chosen and where it was chosen, and the cells followed. */
class Picks extends EventTarget {
  selected = null;
  hovered = null;
  followed = [];
  /** The cells that led to the chosen one. */
  trail = [];
  /** The element on which the choice was made. */
  from = null;
  /** The piece that is shown alone, by its place in the list, or null. */
  piece = null;

  /** A chosen cell stays chosen while the pointer crosses other cells on its way to the card. */
  get shown() {
    return this.selected ?? this.hovered;
  }

  hover(cell, from = null) {
    if (cell !== this.hovered) this.set({ hovered: cell, over: from });
  }

  select(cell, from = null) {
    this.set({ selected: cell, from, trail: [] });
  }

  /** Goes from the chosen cell to one of its causes. */
  goOn(cell) {
    this.set({ trail: [...this.trail, this.selected], selected: cell });
  }

  back() {
    this.set({ selected: this.trail.at(-1), trail: this.trail.slice(0, -1) });
  }

  isolate(piece) {
    this.set({ piece, selected: null, hovered: null, trail: [] });
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
const pieces = makePieces(picks);
if (pieces) painters.push(pieces);
makeFaults(picks);
// The card comes last, because it is placed beside what the other views have drawn.
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
  // Place it beside the cell in the drawing where it was chosen, or else in one that is visible.
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

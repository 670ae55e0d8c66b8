// Ties the page together: one play, one choice of cells, and every view painted after a change.

import { byId, data } from "page/dom";
import { makeControls } from "page/controls";
import { makeInspector } from "page/inspector";
import { makePlans } from "page/plans";
import { Play } from "page/play";
import { makeScene } from "page/scene";
import { makeWaves } from "page/waves";

/** Which cell is pointed at, which is chosen, and which are followed in the waveforms. */
class Picks extends EventTarget {
  selected = null;
  hovered = null;
  followed = [];

  get shown() {
    return this.hovered ?? this.selected;
  }

  hover(cell) {
    if (cell !== this.hovered) this.set({ hovered: cell });
  }

  select(cell) {
    this.set({ selected: cell });
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
const painters = [makeInspector(play, picks), makePlans(play, picks)];
if (play) painters.push(makeControls(play), makeWaves(play, picks));
else document.body.classList.add("not-played");

const paint = () => painters.forEach((painter) => painter());
play?.addEventListener("change", paint);
picks.addEventListener("change", paint);
window.addEventListener("resize", paint);
paint();

makeScene(byId("canvas"), play, picks).then((scene) => {
  painters.push(scene);
  paint();
  document.body.classList.add("is-ready");
});

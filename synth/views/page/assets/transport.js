// The play bar: to the start, back, play, on, the tick and the speed.

import { byId } from "page/dom";

export function makeTransport(play) {
  byId("to-start").addEventListener("click", () => play.show(0));
  byId("step-back").addEventListener("click", () => play.show(play.cursor - 1));
  byId("step").addEventListener("click", () => play.show(play.cursor + 1));
  byId("play").addEventListener("click", () => toggle(play));
  byId("tick").addEventListener("input", (event) =>
    play.show(Number(event.target.value) + play.origin),
  );
  byId("speed").addEventListener("change", (event) => play.speed(Number(event.target.value)));

  return function paint() {
    const slider = byId("tick");
    slider.min = play.tickOf(0);
    slider.max = play.tickOf(play.lastTick);
    slider.value = play.tickOf();
    byId("tick-text").textContent = `${signed(play.tickOf())} of ${slider.max}`;
    byId("play-text").textContent = play.playing ? "Pause" : "Play";
    byId("play").classList.toggle("is-playing", play.playing);
  };
}

export function signed(tick) {
  return tick < 0 ? `\u2212${-tick}` : String(tick);
}

export function toggle(play) {
  if (play.playing) play.show(play.cursor);
  else play.start();
}

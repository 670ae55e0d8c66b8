// Switches, outputs, the play bar and how many copies there are.

import { byId, data, make } from "page/dom";
import { outputSign, showBit, showSwitch, switchButton } from "page/signs";
import { makeTransport } from "page/transport";
import { makeWaves } from "page/waves";

const MOST_COPIES = 5;

export function makeInputs(model) {
  const { play } = model;
  const transport = makeTransport(play);
  // What is followed is asked for by the waveforms as on the page of a layout.
  const waves = makeWaves(play, {
    get followed() {
      return model.followed;
    },
    follow: (number, on) => model.follow(number, on),
  });
  const slowly = byId("slowly");
  slowly.addEventListener("change", () => {
    play.slowly = slowly.checked;
  });
  let made = "";
  let switches = [];
  let signs = [];
  const copies = byId("copies");
  copies.append(
    ...Array.from({ length: MOST_COPIES }, (_, index) => make("option", { value: index + 1 }, index + 1)),
  );
  copies.addEventListener("change", () => {
    model.order("copies", { count: Number(copies.value) }).then(paintCopies);
  });

  function remake() {
    const { inputs, outputs } = play.data;
    const key = JSON.stringify([inputs, outputs]);
    if (key === made) return;
    made = key;
    switches = inputs.map((name, index) => switchButton(name, () => play.toggle(index)));
    signs = outputs.map(outputSign);
    byId("switches").replaceChildren(...switches);
    byId("outputs").replaceChildren(...signs);
  }

  function paintCopies() {
    const { stack, copies: shown } = model.state;
    copies.value = shown;
    copies.disabled = !stack;
    copies.title = stack ? "" : "say in Box and pins along which axis it stacks";
  }

  function paint() {
    remake();
    const bits = play.bits();
    switches.forEach((button, index) => showSwitch(button, bits[index]));
    signs.forEach((sign, index) => showBit(sign, play.outputs()[index]));
    transport();
    waves();
    byId("status").textContent = status(play);
  }

  model.addEventListener("state", paintCopies);
  model.addEventListener("play", paint);
  window.addEventListener("resize", () => model.state && waves());
}

function status(play) {
  const left = data.leftOut.length;
  const without = left
    ? ` Played without ${left === 1 ? "the part that breaks" : `the ${left} parts that break`} a rule.`
    : "";
  if (!play.data.inputs.length && !play.data.outputs.length) {
    return `There are no pins yet.${without}`;
  }
  if (!play.atRest) {
    return `It goes on changing. One tick on plays further.${without}`;
  }
  const settled = play.outputs(play.lastTick);
  let tick = play.lastTick;
  while (tick > play.origin && play.outputs(tick - 1) === settled) tick -= 1;
  return `Outputs stand still from tick ${play.tickOf(tick)} on.${without}`;
}

// Switches, lights, the play bar, jumps, and the keys that do the same.

import { bitsOf, byId, make, rowText } from "page/dom";

export function makeControls(play) {
  const { inputs, outputs } = play.data;
  const switches = inputs.map((name, index) => {
    const button = make(
      "button",
      { type: "button", role: "switch", class: "switch", "data-input": name },
      make("span", { class: "name" }, name),
      make("span", { class: "knob", "aria-hidden": "true" }),
      make("span", { class: "bit", "aria-hidden": "true" }),
    );
    button.addEventListener("click", () => play.toggle(index));
    return button;
  });
  byId("switches").append(...switches);
  const lights = outputs.map((name) =>
    make(
      "div",
      { class: "light", "data-output": name },
      make("span", { class: "name" }, name),
      make("span", { class: "lamp", "aria-hidden": "true" }),
      make("output", { class: "bit", "aria-label": `output ${name}` }),
    ),
  );
  byId("lights").append(...lights);

  byId("to-start").addEventListener("click", () => play.show(0));
  byId("step-back").addEventListener("click", () => play.show(play.cursor - 1));
  byId("step").addEventListener("click", () => play.show(play.cursor + 1));
  byId("play").addEventListener("click", () => toggle(play));
  byId("tick").addEventListener("input", (event) => play.show(Number(event.target.value)));
  byId("speed").addEventListener("change", (event) => play.speed(Number(event.target.value)));
  makeJump(play);
  byId("coverage").textContent = coverage(play.data);
  byId("bench").addEventListener("keydown", (event) => press(play, event));

  return function paint() {
    const bits = bitsOf(play.row(), inputs.length);
    switches.forEach((button, index) => {
      button.setAttribute("aria-checked", String(bits[index] === "1"));
      button.querySelector(".bit").textContent = bits[index];
    });
    lights.forEach((light, index) => {
      const bit = play.outputs()[index];
      light.classList.toggle("is-on", bit === "1");
      light.querySelector(".bit").textContent = bit;
    });
    byId("tick").max = play.lastTick;
    byId("tick").value = play.cursor;
    byId("tick-text").textContent = `${play.cursor} of ${play.lastTick}`;
    byId("play-text").textContent = play.playing ? "Pause" : "Play";
    byId("play").classList.toggle("is-playing", play.playing);
    byId("status").textContent = status(play);
    for (const line of document.querySelectorAll(".truth tr[data-row]")) {
      line.classList.toggle("is-now", Number(line.dataset.row) === play.row());
    }
  };
}

function toggle(play) {
  if (play.playing) play.show(play.cursor);
  else play.start();
}

function status(play) {
  const found = play.settling();
  if (!found) return "All is settled. Switch an input, or jump to a change.";
  const { change, ticks } = found;
  const head = `Inputs changed to ${rowText(change.row, play.data.inputs)} at tick ${change.tick}`;
  if (ticks === null) return `${head}; it goes round and does not settle. ${play.remark}`;
  const after = ticks === 1 ? "1 tick" : `${ticks} ticks`;
  return `${head}; outputs are right after ${after}. ${play.remark}`;
}

function coverage(data) {
  const count = data.moments.length;
  const changes = {
    all: "every change between two settled assignments",
    one: "every change of one input of a settled layout",
    some: "some changes of one input of a settled layout, as many as there was room for",
  }[data.jumps];
  const free = data.free ? ", and switching at any tick" : "; a switch thrown earlier waits for it";
  return `Played in advance by the simulator: ${changes}${free} (${count} moments).`;
}

function makeJump(play) {
  const names = play.data.inputs;
  const from = byId("jump-from");
  const to = byId("jump-to");
  if (!names.length) {
    byId("jump").hidden = true;
    return;
  }
  const option = (row) => make("option", { value: row }, rowText(row, names));
  from.append(...[...play.rest.keys()].sort((a, b) => a - b).map(option));
  const offer = () => {
    const rows = play.rowsAfter(Number(from.value));
    to.replaceChildren(...rows.map(option));
    byId("jump-go").disabled = rows.length === 0;
  };
  from.addEventListener("change", offer);
  offer();
  byId("jump-go").addEventListener("click", () => play.jump(Number(from.value), Number(to.value)));
}

/** Keys act only while the focus is in the model or the play bar, and not where they are text. */
function press(play, event) {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.target.closest("select, input, summary")) return;
  const input = Number(event.key) - 1;
  if (event.key === " " && !event.target.closest("button")) toggle(play);
  else if (event.key === "[") play.show(play.cursor - 1);
  else if (event.key === "]") play.show(play.cursor + 1);
  else if (input >= 0 && input < play.data.inputs.length) play.toggle(input);
  else return;
  event.preventDefault();
}

// Switches, outputs, the play bar, jumps, and the keys that do the same.

import { bitsOf, byId, data, make, rowText } from "page/dom";

export function makeControls(play) {
  const { inputs, outputs } = play.data;
  const switches = inputs.map((name, index) => {
    const button = make(
      "button",
      { type: "button", role: "switch", class: "switch", "data-input": name, "aria-label": name },
      make("span", { class: "name" }, name),
      make("span", { class: "knob", "aria-hidden": "true" }),
      make("span", { class: "bit", "aria-hidden": "true" }),
    );
    button.addEventListener("click", () => play.toggle(index));
    return button;
  });
  byId("switches").append(...switches);
  const shown = outputs.map((name) =>
    make(
      "div",
      { class: "output", "data-output": name },
      make("span", { class: "name" }, name),
      make("span", { class: "sign", "aria-hidden": "true" }),
      make("output", { class: "bit", "aria-label": `output ${name}` }),
      make("span", { class: "asked" }),
    ),
  );
  byId("outputs").append(...shown);

  byId("to-start").addEventListener("click", () => play.show(0));
  byId("step-back").addEventListener("click", () => play.show(play.cursor - 1));
  byId("step").addEventListener("click", () => play.show(play.cursor + 1));
  byId("play").addEventListener("click", () => toggle(play));
  byId("tick").addEventListener("input", (event) =>
    play.show(Number(event.target.value) + play.origin),
  );
  byId("speed").addEventListener("change", (event) => play.speed(Number(event.target.value)));
  makeJump(play);
  byId("coverage").textContent = coverage(play.data);
  byId("bench").addEventListener("keydown", (event) => press(play, event));
  for (const line of document.querySelectorAll(".truth tr[data-row]")) {
    line.addEventListener("click", () => play.settle(Number(line.dataset.row)));
  }

  return function paint() {
    const bits = bitsOf(play.row(), inputs.length);
    switches.forEach((button, index) => {
      button.setAttribute("aria-checked", String(bits[index] === "1"));
      button.querySelector(".bit").textContent = bits[index];
    });
    shown.forEach((output, index) => {
      const bit = play.outputs()[index];
      const asked = askedOf(outputs[index], play.row());
      output.classList.toggle("is-on", bit === "1");
      output.querySelector(".bit").textContent = bit;
      output.querySelector(".asked").textContent = asked === null ? "" : `asked ${asked}`;
      output.classList.toggle("is-other", asked !== null && asked !== bit);
    });
    const slider = byId("tick");
    slider.min = play.tickOf(0);
    slider.max = play.tickOf(play.lastTick);
    slider.value = play.tickOf();
    byId("tick-text").textContent = `${signed(play.tickOf())} of ${slider.max}`;
    byId("play-text").textContent = play.playing ? "Pause" : "Play";
    byId("play").classList.toggle("is-playing", play.playing);
    byId("status").textContent = status(play);
    for (const line of document.querySelectorAll(".truth tr[data-row]")) {
      line.classList.toggle("is-now", Number(line.dataset.row) === play.row());
    }
  };
}

/** What an output should read for a row of inputs; null if either value is allowed. */
function askedOf(name, row) {
  const value = data.asked?.columns[name]?.[row];
  return value === undefined || value === "-" ? null : value;
}

export function signed(tick) {
  return tick < 0 ? `\u2212${-tick}` : String(tick);
}

function toggle(play) {
  if (play.playing) play.show(play.cursor);
  else play.start();
}

/** The sentence about the last change, judged only by what was asked. */
function status(play) {
  const { inputs, outputs } = play.data;
  const found = play.settling();
  const last = found ? play.lastTick : play.cursor;
  const wrong = outputs
    .map((name, index) => [name, play.outputs(last)[index], askedOf(name, play.row(last))])
    .filter(([, reads, asked]) => asked !== null && reads !== asked)
    .map(([name, reads, asked]) => `${name} reads ${reads}, asked ${asked}`)
    .join("; ");
  if (!found) {
    const still = `Everything has settled for ${rowText(play.row(), inputs)}.`;
    if (wrong) return `${still} Wrong: ${wrong}.`;
    return `${still} Switch an input to see what happens.`;
  }
  const { change, ticks } = found;
  const head = `Inputs change to ${rowText(change.row, inputs)} at tick 0`;
  const tail = play.remark ? ` ${play.remark}` : "";
  if (ticks === null) return `${head}; the outputs never settle.${tail}`;
  if (wrong) return `${head}; from tick ${ticks} on the outputs no longer change, and are wrong: ${wrong}.${tail}`;
  const late = data.asked?.delay ?? Infinity;
  if (ticks > late) return `${head}; the outputs settle only at tick ${ticks}, asked: tick ${late}.${tail}`;
  if (!data.asked || !Object.keys(data.asked.columns).length) {
    return `${head}; from tick ${ticks} on the outputs no longer change.${tail}`;
  }
  return `${head}; the outputs are right at tick ${ticks}.${tail}`;
}

function coverage(data) {
  const count = data.moments.length;
  const changes = {
    all: "every change between two settled assignments",
    one: "every change of one input of a settled layout",
    some: "some changes of one input of a settled layout, as many as the page has room for",
  }[data.jumps];
  const free = data.free ? ", and switching at any tick" : "; a switch used before that waits until the layout has settled";
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

/** Keys act only while the focus is in the model or the play bar, and not while text is typed. */
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

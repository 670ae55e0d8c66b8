// Switches, outputs, jumps, and the keys that do the same; the play bar is of its own.

import { bitsOf, byId, data, make, rowText } from "page/dom";
import { outputSign, showBit, showSwitch, switchButton } from "page/signs";
import { makeTransport, toggle } from "page/transport";

export function makeControls(play) {
  const { inputs, outputs } = play.data;
  const switches = inputs.map((name, index) => switchButton(name, () => play.toggle(index)));
  byId("switches").append(...switches);
  const shown = outputs.map(outputSign);
  byId("outputs").append(...shown);
  const paintTransport = makeTransport(play);
  makeJump(play);
  byId("coverage").textContent = coverage(play.data);
  byId("bench").addEventListener("keydown", (event) => press(play, event));
  for (const line of document.querySelectorAll(".truth tr[data-row]")) {
    line.addEventListener("click", () => play.settle(Number(line.dataset.row)));
  }

  return function paint() {
    const bits = bitsOf(play.row(), inputs.length);
    switches.forEach((button, index) => showSwitch(button, bits[index]));
    shown.forEach((output, index) => {
      showBit(output, play.outputs()[index], askedOf(outputs[index], play.row()));
    });
    paintTransport();
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

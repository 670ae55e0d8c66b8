// The box and its pins: size, slices, stacking, ground, name, and the form of a pin.

import { byId, data, make } from "page/dom";

const AXES = ["x", "y", "z"];
const SIDES = ["Length (x)", "Width (y)", "Height (z)"];

export function makeBox(model) {
  const host = byId("box");
  model.addEventListener("state", () => {
    if (host.contains(document.activeElement) && document.activeElement.matches("input")) return;
    host.replaceChildren(pinList(model), sizes(model), slices(model), stacking(model));
  });
  makePinForm(model);
}

function field(label, attributes, act) {
  const input = make("input", attributes);
  input.addEventListener("change", () => act(input));
  return make("label", {}, label, " ", input);
}

function button(text, act, attributes = {}) {
  const made = make("button", { type: "button", ...attributes }, text);
  made.addEventListener("click", act);
  return made;
}

function pinList(model) {
  const items = model.state.pins.map((pin) => {
    const face = pin.face.replace("-", "\u2212");
    return make("li", {},
      make("span", {}, make("b", {}, pin.name), ` ${pin.role} at (${pin.at.join(", ")}), face ${face}, ${pin.joint}`),
      make("span", { class: "row" },
        button("Change", () => openPin(model, pin), { "aria-label": `Change pin ${pin.name}` }),
        button("Remove", () => model.edit("unpin", { name: pin.name }), { "aria-label": `Remove pin ${pin.name}` })));
  });
  return make("div", {},
    items.length
      ? make("ul", { class: "pin-list", "aria-label": "Pins" }, ...items)
      : make("p", { class: "note" }, "No pins yet."),
    button("Set a pin", () => openPin(model)));
}

function sizes(model) {
  const fields = SIDES.map((label, axis) =>
    field(label, { type: "number", min: 1, max: 256, value: model.state.box[axis] }, (input) => {
      const size = [...model.state.box];
      size[axis] = Number(input.value);
      model.edit("size", { size }).then((answer) => answer ?? (input.value = model.state.box[axis]));
    }),
  );
  const name = field("Name", { value: model.state.name, maxlength: 80 }, (input) => model.edit("name", { name: input.value }));
  return make("fieldset", { class: "lines" }, make("legend", {}, "Box"), name, ...fields);
}

function slices(model) {
  const tools = AXES.map((axis, index) =>
    make("div", { class: "row" },
      button(`Insert ${axis}`, () => model.edit("slice", { axis, at: model.cursor[index] }), { "aria-label": `Insert ${axis}: an empty slice before the cursor` }),
      button(`Add ${axis}`, () => model.edit("slice", { axis, at: model.cursor[index] + 1 }), { "aria-label": `Add ${axis}: an empty slice after the cursor` }),
      button(`Take out ${axis}`, () => model.edit("slice", { axis, at: model.cursor[index], out: true }), { "aria-label": `Take out ${axis}: the slice at the cursor` })),
  );
  return make("fieldset", {}, make("legend", {}, "Slices: insert one before the cursor, add one after it, or take its own out"), ...tools);
}

function stacking(model) {
  const { stack, ground } = model.state;
  const axis = make("select", {}, make("option", { value: "" }, "does not"),
    ...AXES.map((name) => make("option", { value: name }, `along ${name}`)));
  axis.value = stack?.axis ?? "";
  axis.addEventListener("change", () => model.edit("stack", { axis: axis.value || null }));
  const pitch = field("Pitch", { type: "number", min: 1, value: stack?.pitch ?? "" }, (input) =>
    model.edit("stack", { axis: stack.axis, pitch: Number(input.value) }));
  pitch.hidden = !stack;
  const floor = make("input", { type: "checkbox" });
  floor.checked = ground;
  floor.addEventListener("change", () => model.edit("ground", { on: floor.checked }));
  return make("fieldset", { class: "lines" }, make("legend", {}, "Stacking and ground"),
    make("label", {}, "Stacks ", axis), pitch,
    make("label", { class: "check" }, floor, " Ground carries wires and buffers"));
}

let changed = null; // the name of the pin that the form changes, or null for a new one

function makePinForm(model) {
  const dialog = byId("pin-dialog");
  byId("pin-cancel").addEventListener("click", () => dialog.close());
  model.addEventListener("pin", () => {
    const there = model.state.pins.find(({ at, face }) =>
      at.join() === model.cursor.join() && (!model.pinFace || face === model.pinFace));
    openPin(model, there);
  });
  byId("pin-form").addEventListener("submit", async (event) => {
    event.preventDefault();
    const number = (id) => Number(byId(id).value);
    const values = {
      ...(changed === null ? {} : { old: changed }),
      name: byId("pin-name").value,
      role: byId("pin-role").value,
      at: ["pin-x", "pin-y", "pin-z"].map(number),
      face: byId("pin-face").value,
      joint: byId("pin-joint").value,
    };
    const answer = await model.edit("pin", values);
    if (answer) dialog.close();
    else byId("pin-error").textContent = model.words;
  });
}

function openPin(model, pin) {
  changed = pin?.name ?? null;
  const at = pin?.at ?? model.cursor;
  const [left, right] = [at[0] === 0, at[0] === data.size[0] - 1];
  const guess = model.pinFace ?? (left ? "-x" : right ? "+x" : at[1] === 0 ? "-y" : "+y");
  const values = {
    "pin-name": pin?.name ?? freeName(model, guess),
    "pin-role": pin?.role ?? (guess === "+x" ? "output" : "input"),
    "pin-x": at[0],
    "pin-y": at[1],
    "pin-z": at[2],
    "pin-face": pin?.face ?? guess,
    "pin-joint": pin?.joint ?? "wire",
  };
  for (const [id, value] of Object.entries(values)) byId(id).value = value;
  byId("pin-title").textContent = pin ? `Pin ${pin.name}` : "Set a pin";
  byId("pin-error").textContent = "";
  model.pinFace = null;
  byId("pin-dialog").showModal();
}

/** A name that no pin has: a, b, c for inputs; q, r, s for outputs. */
function freeName(model, face) {
  const taken = new Set(model.state.pins.map(({ name }) => name));
  const letters = face === "+x" ? "qrstuvwxyz" : "abcdefghij";
  return [...letters].find((letter) => !taken.has(letter)) ?? "";
}

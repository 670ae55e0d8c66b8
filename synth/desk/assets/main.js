// Ties the desk together: one model, and every view painted after what concerns it.

import { byId, data, make } from "page/dom";
import { makeScene } from "page/scene";
import { makeBox } from "desk/box";
import { makeCell } from "desk/cell";
import { makeFiles } from "desk/files";
import { KEYS, makeHand, pickInModel } from "desk/hand";
import { makeInputs } from "desk/inputs";
import { makeJobs } from "desk/jobs";
import { Layers } from "desk/layers";
import { makeLessons } from "desk/lessons";
import { Model } from "desk/model";
import { makePalette } from "desk/palette";
import { makeReview } from "desk/review";
import { makeVersions } from "desk/versions";

const model = new Model();
const layers = new Layers(byId("plans"));
let scene = null;
let drawn = null;

/** What the model in three dimensions asks of who points at it. */
const picks = {
  selected: null,
  hovered: null,
  followed: [],
  get shown() {
    return model.state ? (model.numberAt(model.cursor) ?? null) : null;
  },
  hover() {},
  select: (number, from, spot) => pickInModel(model, number, spot),
};

makePalette(model, JSON.parse(byId("palette-art").textContent));
makeHand(model, layers);
makeInputs(model);
makeCell(model);
makeReview(model);
makeBox(model);
makeVersions(model);
makeFiles(model);
makeLessons(model);
makeJobs(model);
makeBlockTools();

byId("undo").addEventListener("click", () => model.order("undo"));
byId("redo").addEventListener("click", () => model.order("redo"));
byId("keys-open").addEventListener("click", () => byId("keys").showModal());
byId("keys-body").append(
  ...KEYS.map(([keys, does]) => make("div", {}, make("dt", {}, keys), make("dd", {}, does))),
);

model.addEventListener("said", () => {
  byId("said").textContent = model.words;
  byId("said").classList.toggle("is-wrong", model.wrong);
});
model.addEventListener("state", () => {
  const { state } = model;
  document.title = `${state.design} — desk`;
  byId("design-name").textContent = state.design;
  byId("saved").textContent = state.unsaved ? "kept, not saved to its file" : "saved";
  byId("undo").disabled = state.undo === null;
  byId("redo").disabled = state.redo === null;
  byId("undo").setAttribute("aria-label", state.undo === null ? "Undo" : `Undo: ${state.undo}`);
  byId("redo").setAttribute("aria-label", state.redo === null ? "Redo" : `Redo: ${state.redo}`);
  layers.draw(data, model.locked);
});
model.addEventListener("cursor", () => {
  layers.mark(model.cursor, model.block, model.lit);
  scene?.paint();
});
model.addEventListener("play", () => {
  layers.paint(model.play);
  layers.mark(model.cursor, model.block, model.lit);
  paintScene();
  document.body.dataset.revision = model.state.revision;
  document.body.classList.add("is-ready");
});

/** The model in three dimensions, made once and renewed after every edit. */
async function paintScene() {
  if (scene === "coming") return;
  if (!scene) {
    scene = "coming";
    drawn = data.cells;
    scene = await makeScene(byId("canvas"), model.play, picks);
    document.body.classList.add("has-scene");
  }
  if (drawn !== data.cells) {
    drawn = data.cells;
    scene.renew();
  }
  scene.paint();
}

function makeBlockTools() {
  const tools = [
    ["Turn left", () => model.turn(1)],
    ["Turn right", () => model.turn(-1)],
    ["Mirror x", () => model.mirror("x")],
    ["Mirror y", () => model.mirror("y")],
    ["Copy", () => model.copy()],
    ["Put in", () => model.paste()],
    ["Empty", () => model.put("empty", model.cellsOfBlock())],
    ["Lock", () => model.lock(model.cellsOfBlock())],
  ];
  byId("block-tools").append(
    ...tools.map(([title, act]) => {
      const button = make("button", { type: "button" }, title);
      button.addEventListener("click", act);
      return button;
    }),
  );
}

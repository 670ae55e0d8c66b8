// Versions: looked at beside the design, taken, kept; what changed is lit up.

import { byId, make } from "page/dom";
import { outputSign, showBit } from "page/signs";
import { Layers } from "desk/layers";
import { LivePlay } from "desk/live";

export function makeVersions(model) {
  const host = byId("versions");
  const other = new Layers(byId("beside-plans"));
  const play = new LivePlay(() => null, (cell) => other.data.cells[cell].part);
  let signs = [];
  let named = "";

  function list() {
    const keep = make("button", { type: "button" }, "Keep this one");
    keep.addEventListener("click", () => model.order("keep", { words: "kept by hand", delay: delayOf(model) }));
    const items = model.state.versions.toReversed().map((version) => item(model, version));
    host.replaceChildren(keep, items.length
      ? make("ol", { class: "version-list", reversed: "" }, ...items)
      : make("p", { class: "note" }, "Saving keeps a version, and so does every gain of a job."));
  }

  function paintBeside() {
    const { beside } = model.state;
    byId("beside").hidden = !beside;
    if (!beside) return;
    byId("beside-title").textContent = `Version ${beside.number}: ${beside.words}`;
    const { added, taken, changed } = beside.difference;
    const counts = `${added.length} cells added since, ${taken.length} taken, ${changed.length} changed`;
    byId("beside-note").textContent = added.length + taken.length + changed.length
      ? `${counts}. Both are played with the same inputs.`
      : "The same as the design. Both are played with the same inputs.";
    other.draw(beside.scene);
    play.take(beside.scene.play);
    if (named !== play.data.outputs.join()) {
      named = play.data.outputs.join();
      signs = play.data.outputs.map(outputSign);
      byId("beside-outputs").replaceChildren(...signs);
    }
    const marks = [...taken, ...changed];
    const kinds = Object.fromEntries([
      ...taken.map((cell) => [cell.join(), "is-taken"]),
      ...changed.map((cell) => [cell.join(), "is-changed"]),
    ]);
    other.mark([-9, -9, -9], [[0, 0, 0], [0, 0, 0]], marks, kinds);
    model.lit = [...added, ...changed];
    model.tell("cursor");
    paintPlay();
  }

  function paintPlay() {
    if (!model.state?.beside || !play.timeline.length) return;
    // The same tick of both, counted from the change of the inputs.
    const tick = play.origin + model.play.tickOf();
    play.cursor = Math.max(0, Math.min(tick, play.lastTick));
    other.paint(play);
    signs.forEach((sign, index) => showBit(sign, play.outputs()[index]));
  }

  model.addEventListener("state", () => {
    list();
    paintBeside();
  });
  model.addEventListener("versions", list);
  model.addEventListener("beside", paintBeside);
  model.addEventListener("play", paintPlay);
}

export function delayOf(model) {
  const fresh = model.judged?.revision === model.state.revision;
  return fresh ? model.judged.delay : null;
}

function item(model, version) {
  const { number, words, size, volume, parts, delay, changed, same } = version;
  const measures = `${size.join(" x ")}, volume ${volume}, ${parts} parts${delay === null ? "" : `, delay ${delay}`}`;
  const since = changed
    ? `${changed[0]} added, ${changed[1]} taken, ${changed[2]} changed since the one before`
    : "";
  const shown = model.state.beside?.number === number;
  const look = make("button", { type: "button", "aria-pressed": String(shown) }, "Beside");
  look.addEventListener("click", () => model.order("beside", { version: shown ? null : number }));
  const take = make("button", { type: "button", ...(same ? { disabled: "" } : {}) }, same ? "As it is" : "Take it");
  take.addEventListener("click", () => model.order("take", { version: number }));
  return make("li", { value: number },
    make("p", {}, make("b", {}, words)),
    make("p", { class: "note" }, measures),
    make("p", { class: "note" }, since),
    make("div", { class: "row" }, look, take));
}

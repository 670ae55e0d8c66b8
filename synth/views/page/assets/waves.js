// Waveforms: a lane for each pin and each cell that is followed, a step for each tick.

import { bitsOf, byId, data, make, makeSvg } from "page/dom";
import { signed } from "page/transport";

const LANE = 36;
const HIGH = 24;
const HEAD = 18;
const WIDEST_TICK = 72;
const NARROWEST_TICK = 22;

export function makeWaves(play, picks) {
  const host = byId("waves");
  const labels = make("div", { class: "wave-labels" });
  const scroll = make("div", { class: "wave-scroll", tabindex: "-1" });
  host.append(labels, scroll);
  let drawn = null;
  let named = null;
  scroll.addEventListener("click", (event) => {
    const box = scroll.firstChild.getBoundingClientRect();
    play.show(Math.floor((event.clientX - box.left) / drawn.tick));
  });
  host.addEventListener("keydown", (event) => {
    if (event.target !== host) return;
    if (event.key === "ArrowLeft") play.show(play.cursor - 1);
    else if (event.key === "ArrowRight") play.show(play.cursor + 1);
    else return;
    event.preventDefault();
  });

  return function paint() {
    const lanes = lanesOf(play, picks);
    const ticks = play.timeline.length;
    const room = (scroll.clientWidth || 600) / ticks;
    const tick = Math.max(NARROWEST_TICK, Math.min(WIDEST_TICK, room));
    drawn = { tick };
    // Labels hold buttons; replacing one while the pointer is down would lose the click.
    const names = lanes.map((lane) => lane.name).join("\n");
    if (names !== named) {
      labels.replaceChildren(make("div", { class: "wave-head" }, "tick"), ...lanes.map(label));
      named = names;
    }
    scroll.replaceChildren(drawing(play, lanes, tick));
    const at = play.cursor * tick;
    if (at < scroll.scrollLeft || at + tick > scroll.scrollLeft + scroll.clientWidth) {
      scroll.scrollLeft = at - scroll.clientWidth / 2;
    }
  };

  function label(lane) {
    const node = make("div", { class: `wave-label is-${lane.kind}` }, make("span", {}, lane.name));
    if (lane.cell === undefined) return node;
    const drop = make("button", { type: "button", "aria-label": `Remove ${lane.name}` }, "\u00d7");
    drop.addEventListener("click", () => picks.follow(lane.cell, false));
    node.append(drop);
    return node;
  }
}

function lanesOf(play, picks) {
  const ticks = [...play.timeline.keys()];
  const { inputs, outputs } = play.data;
  const pins = [
    ...inputs.map((name, index) => ({
      name,
      kind: "input",
      most: 1,
      values: ticks.map((tick) => Number(bitsOf(play.row(tick), inputs.length)[index])),
    })),
    ...outputs.map((name, index) => ({
      name,
      kind: "output",
      most: 1,
      values: ticks.map((tick) => Number(play.outputs(tick)[index])),
    })),
  ];
  const cells = picks.followed.map((cell) => {
    const { part, at, outside, title } = data.cells[cell];
    return {
      name: outside ? title : `${part} ${at.join(",")}`,
      kind: "followed",
      cell,
      most: part === "wire" ? data.reach : part === "solid" ? 2 : 1,
      values: ticks.map((tick) => play.look(cell, tick).value),
    };
  });
  return [...pins, ...cells];
}

function drawing(play, lanes, tick) {
  const wide = play.timeline.length * tick;
  const high = HEAD + lanes.length * LANE;
  const parts = [];
  play.timeline.forEach((_, at) => {
    parts.push(makeSvg("text", { class: "wave-tick", x: at * tick + tick / 2, y: 12 }, signed(play.tickOf(at))));
    parts.push(makeSvg("path", { class: "wave-grid", d: `M${at * tick} ${HEAD}V${high}` }));
  });
  for (const change of play.changes) {
    parts.push(makeSvg("path", { class: "wave-change", d: `M${change.tick * tick} 2V${high}` }));
  }
  lanes.forEach((lane, index) => parts.push(...curve(lane, HEAD + index * LANE, tick)));
  parts.push(
    makeSvg("rect", {
      class: "wave-cursor",
      x: play.cursor * tick,
      y: 1,
      width: tick,
      height: high - 2,
    }),
  );
  return makeSvg(
    "svg",
    { width: wide, height: high, viewBox: `0 0 ${wide} ${high}`, "aria-hidden": "true" },
    ...parts,
  );
}

function curve(lane, top, tick) {
  const low = top + (LANE + HIGH) / 2;
  const y = (value) => low - (HIGH * value) / lane.most;
  const line = lane.values
    .map((value, at) => `${at ? "V" : `M0 `}${y(value)}H${(at + 1) * tick}`)
    .join("");
  const end = lane.values.length * tick;
  const parts = [
    makeSvg("path", { class: `wave-fill ${lane.kind}`, d: `${line}V${low}H0z` }),
    makeSvg("path", { class: `wave-line ${lane.kind}`, d: line }),
    makeSvg("path", { class: "wave-base", d: `M0 ${top + LANE - 0.5}H${end}` }),
  ];
  if (lane.most > 1) {
    lane.values.forEach((value, at) => {
      if (at && lane.values[at - 1] === value) return;
      const place = { class: "wave-value", x: at * tick + 4, y: low - 4 };
      parts.push(makeSvg("text", place, String(value)));
    });
  }
  return parts;
}

// The palette: tools with the project's own symbols, the way a part points, and its ticks.

import { byId, make } from "page/dom";

const TOOLS = [
  ["choose", "Choose", "", "M14 10v36l9-8 7 15 7-3-7-15h13z"],
  ["solid", "Solid", "s"],
  ["clear", "Clear", "c"],
  ["ledge", "Ledge", "l"],
  ["wire", "Wire", "w"],
  ["inverter", "Inverter", "i"],
  ["buffer", "Buffer", "b"],
  ["empty", "Empty", "x", "M14 14l32 32M46 14L14 46"],
  ["lock", "Lock", "k", "M14 28h32v22H14zM21 28v-7a9 9 0 0 1 18 0v7"],
  ["pin", "Pin", "p", "M8 30h30M28 20l12 10-12 10M46 16v28"],
];
const WAYS = [
  ["", "as suits"],
  ["+x", "+x, to the right"],
  ["-x", "\u2212x, to the left"],
  ["+y", "+y, up the page"],
  ["-y", "\u2212y, down the page"],
  ["-z", "\u2212z, stands (inverter)"],
];

export function makePalette(model, symbols) {
  const host = byId("palette");
  const buttons = TOOLS.map(([tool, title, key, path]) => {
    const button = make(
      "button",
      { type: "button", class: "tool", "data-tool": tool, "aria-pressed": "false", "aria-keyshortcuts": key || null },
      make("span", { class: "tool-name" }, title),
      make("kbd", { "aria-hidden": "true" }, key),
    );
    const art = path ? `<path class="tool-line" d="${path}"/>` : symbols[tool];
    button.insertAdjacentHTML("afterbegin", `<svg viewBox="0 0 60 60" aria-hidden="true">${art}</svg>`);
    button.addEventListener("click", () => {
      model.choose(tool);
      // With a block chosen a tool acts at once, as its key does.
      if (model.anchor && tool !== "choose" && tool !== "pin") model.use(model.cellsOfBlock());
      else if (tool === "pin") model.say("Press a cell at the edge, or beyond it, to set a pin there.");
    });
    return button;
  });
  host.append(...buttons);
  roving(host, buttons);
  const way = byId("way");
  way.append(...WAYS.map(([value, text]) => make("option", { value }, text)));
  way.addEventListener("change", () => {
    model.way = way.value;
  });
  const ticks = byId("ticks");
  ticks.append(...[1, 2, 3, 4].map((value) => make("option", { value }, value)));
  ticks.addEventListener("change", () => {
    model.ticks = Number(ticks.value);
  });
  const paint = () => {
    for (const button of buttons) {
      button.setAttribute("aria-pressed", String(button.dataset.tool === model.tool));
    }
    byId("board").dataset.tool = model.tool;
  };
  model.addEventListener("tool", paint);
  paint();
}

/** One stop for the tab key; arrows go from tool to tool. */
function roving(host, buttons) {
  buttons.forEach((button, index) => (button.tabIndex = index ? -1 : 0));
  host.addEventListener("keydown", (event) => {
    const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    if (!step) return;
    const at = buttons.indexOf(document.activeElement);
    const next = buttons.at((at + step) % buttons.length);
    buttons.forEach((button) => (button.tabIndex = button === next ? 0 : -1));
    next.focus();
    event.preventDefault();
  });
}

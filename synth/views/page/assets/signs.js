// A switch of an input, and the sign of an output: made once, painted after every change.

import { make } from "page/dom";

export function switchButton(name, act) {
  const button = make(
    "button",
    { type: "button", role: "switch", class: "switch", "data-input": name, "aria-label": name },
    make("span", { class: "name" }, name),
    make("span", { class: "knob", "aria-hidden": "true" }),
    make("span", { class: "bit", "aria-hidden": "true" }),
  );
  button.addEventListener("click", act);
  return button;
}

export function showSwitch(button, bit) {
  button.setAttribute("aria-checked", String(bit === "1"));
  button.querySelector(".bit").textContent = bit;
}

export function outputSign(name) {
  return make(
    "div",
    { class: "output", "data-output": name },
    make("span", { class: "name" }, name),
    make("span", { class: "sign", "aria-hidden": "true" }),
    make("output", { class: "bit", "aria-label": `output ${name}` }),
    make("span", { class: "asked" }),
  );
}

/** What an output reads, and what was asked of it; null where nothing was. */
export function showBit(output, bit, asked = null) {
  output.classList.toggle("is-on", bit === "1");
  output.querySelector(".bit").textContent = bit;
  output.querySelector(".asked").textContent = asked === null ? "" : `asked ${asked}`;
  output.classList.toggle("is-other", asked !== null && asked !== bit);
}

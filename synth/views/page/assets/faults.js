// Faults: a click on one shows its cell in the model and in its layer.

import { data } from "page/dom";

export function makeFaults(picks) {
  for (const button of document.querySelectorAll("[data-go]")) {
    const cell = Number(button.dataset.go);
    button.setAttribute("aria-label", `Show ${data.cells[cell].title}`);
    button.addEventListener("click", () => {
      const group = document.querySelector(`#plans [data-cell="${cell}"]`);
      group?.scrollIntoView({ block: "center", inline: "center" });
      picks.select(cell, group);
    });
  }
}

// The power of a cell in a flat drawing: the classes and the number that show it.

import { data } from "page/dom";

/**
 * Shows how a cell stands; says whether that is anything new.
 *
 * `cell` is what the drawing keeps of it: its group, the text that holds its value, its part, and
 * here `shown` and `power`, which is what was shown last.
 */
export function showPower(cell, look, reach = data.reach) {
  const { group, part, value } = cell;
  const key = `${look.value}|${look.text}`;
  if (key === cell.shown) return false;
  cell.shown = key;
  cell.power = look.value;
  const most = part === "wire" ? reach : part === "solid" ? 2 : 1;
  group.classList.toggle("is-on", look.value > 0);
  group.classList.toggle("is-driven", part === "solid" && look.value === 2);
  group.style.setProperty("--power-part", look.value / most);
  group.style.setProperty("--after", part === "wire" ? reach - look.value : 0);
  value.textContent = part === "wire" ? look.value || "" : part === "solid" ? "" : look.value;
  return true;
}

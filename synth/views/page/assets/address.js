// Keeps what is shown in the address: inputs and their changes, the tick, the cell, the camera. A
// link to the page then shows the same again. Form: #run=00,10@2&tick=1&cell=1.0.2&piece=gate%20n1&view=...

import { bitsOf, data } from "page/dom";

const WAIT_MS = 250;

export function makeAddress(play, picks) {
  let scene = null;
  let timer = null;
  let written = "";
  const byPlace = new Map(data.cells.map((cell, number) => [cell.at.join("."), number]));

  function text() {
    const parts = [];
    const story = play?.story();
    if (story) {
      const count = play.data.inputs.length;
      const words = story.map(([row, place], index) => {
        const bits = bitsOf(row, count) || "-";
        return index ? `${bits}@${place}` : bits;
      });
      // The state in which a page opens is left out.
      if (story.length > 1 || story[0][0] !== 0) parts.push(`run=${words.join(",")}`);
      if (play.tickOf() !== 0) parts.push(`tick=${play.tickOf()}`);
    }
    if (picks.selected !== null) parts.push(`cell=${data.cells[picks.selected].at.join(".")}`);
    const piece = data.pieces?.[picks.piece];
    if (piece) parts.push(`piece=${encodeURIComponent(piece.title)}`);
    const view = scene?.viewText();
    if (view) parts.push(`view=${view}`);
    return parts.join("&");
  }

  function write() {
    clearTimeout(timer);
    timer = setTimeout(() => {
      const now = text();
      // A link to a place in the page stays in the address until something changes.
      if (now === written) return;
      written = now;
      history.replaceState(null, "", now ? `#${now}` : location.href.replace(/#.*$/, ""));
    }, WAIT_MS);
  }

  function read() {
    const hash = location.hash.slice(1);
    if (!hash.includes("=")) return;
    const given = new Map(hash.split("&").map((part) => part.split("=")));
    if (play && (given.has("run") || given.has("tick"))) {
      const count = play.data.inputs.length;
      const run = (given.get("run") ?? "0".repeat(count)).split(",");
      const story = run.map((word) => {
        const [bits, place = "0"] = word.split("@");
        return [parseInt(bits, 2) || 0, Number(place) || 0];
      });
      play.replay(story, Number(given.get("tick") ?? 0) || 0);
    }
    const title = decodeURIComponent(given.get("piece") ?? "");
    const piece = (data.pieces ?? []).findIndex((other) => other.title === title);
    if (piece >= 0) picks.isolate(piece);
    const cell = byPlace.get(given.get("cell"));
    if (cell !== undefined) picks.select(cell);
    if (given.has("view")) scene?.restoreView(given.get("view"));
    written = text();
  }

  window.addEventListener("hashchange", () => {
    if (location.hash.slice(1) !== written) read();
  });
  return {
    write,
    read,
    attach(made) {
      scene = made;
    },
  };
}

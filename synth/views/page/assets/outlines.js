// Pieces in outline: a box around each gate, or around the one piece that is shown alone, and its
// name.

import { byId, data } from "page/dom";

const LEAST_CELLS = 9; // around a piece that is shown alone, so that its surroundings are seen, too

export class Outlines {
  constructor(THREE, scene, place) {
    Object.assign(this, { THREE, place, shown: [] });
    this.pieces = data.pieces ?? [];
    this.lines = new THREE.LineSegments(new THREE.BufferGeometry(), new THREE.LineBasicMaterial());
    this.lines.renderOrder = 4;
    this.lines.frustumCulled = false;
    scene.add(this.lines);
  }

  colour(blue) {
    this.lines.material.color.set(blue);
  }

  /** Lowest and highest corner of a piece, with the layers pulled apart. */
  corners({ box: [low, high] }) {
    const from = this.place(low).map((at) => at - 0.5);
    const to = this.place(high).map((at) => at + 0.5);
    return [from, to];
  }

  /** Draws the box of one piece, by its place in the list, or those of all gates. */
  arrange(alone) {
    const wanted = byId("outlines")?.checked;
    if (this.pieces[alone]) this.shown = [this.pieces[alone]];
    else this.shown = wanted ? this.pieces.filter(({ kind }) => kind === "gate") : [];
    const points = [];
    for (const piece of this.shown) {
      const [from, to] = this.corners(piece);
      const corner = (bits) => [0, 1, 2].map((axis) => (bits & (1 << axis) ? to : from)[axis]);
      for (let bits = 0; bits < 8; bits += 1) {
        for (const way of [1, 2, 4]) {
          if (!(bits & way)) points.push(...corner(bits), ...corner(bits | way));
        }
      }
    }
    this.lines.geometry.dispose();
    this.lines.geometry = new this.THREE.BufferGeometry();
    this.lines.geometry.setAttribute("position", new this.THREE.Float32BufferAttribute(points, 3));
  }

  /** The points to see, and their middle, where a piece is shown alone; else null. */
  around(alone) {
    const piece = this.pieces[alone];
    if (!piece) return null;
    const [from, to] = this.corners(piece);
    const middle = from.map((at, axis) => (at + to[axis]) / 2);
    const half = from.map((at, axis) => Math.max(to[axis] - at, axis < 2 ? LEAST_CELLS : 0) / 2);
    const points = [];
    for (const x of [-1, 1]) {
      for (const y of [-1, 1]) {
        for (const z of [-1, 1]) {
          const way = [x, y, z].map((sign, axis) => middle[axis] + sign * half[axis]);
          points.push(new this.THREE.Vector3(...way));
        }
      }
    }
    return [points, new this.THREE.Vector3(...middle)];
  }

  /** The names of what is outlined, over the middle of each box. */
  words() {
    return this.shown.map((piece) => {
      const [from, to] = this.corners(piece);
      const at = new this.THREE.Vector3((from[0] + to[0]) / 2, (from[1] + to[1]) / 2, to[2]);
      return { kind: "piece", text: piece.name, at };
    });
  }
}

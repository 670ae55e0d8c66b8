// The bodies of the parts in the model. Each is a group with `paint(look)`.
//
// Their surfaces come with the data of the page, the same as in every other picture. Parts that have
// power are filled in one colour, whatever their strength; the height of a wire and its number tell
// its strength; a solid is hatched when charged, and both ways when driven.
//
// The model has the axes of the layout: x along, y across, z up. A cell is a cube of edge 1 around
// its middle.

import { data } from "page/dom";
import { label } from "page/labels";

export const INK = "#16243a";
const FLOOR = -0.5;
const SNUG = 0.96; // size of a block in its cell, so that neighbours can be told apart
const WEAKEST = 0.35; // height of the weakest wire, as a share of that at full strength

export const VECTORS = {
  "+x": [1, 0, 0],
  "-x": [-1, 0, 0],
  "+y": [0, 1, 0],
  "-y": [0, -1, 0],
  "+z": [0, 0, 1],
  "-z": [0, 0, -1],
};

/** A colour of the page's theme, or the one to fall back on. */
function themed([name, fallback]) {
  const style = getComputedStyle(document.documentElement);
  return style.getPropertyValue(`--draw-${name}`).trim() || fallback;
}

export class Shapes {
  constructor(THREE, reach) {
    Object.assign(this, { THREE, reach });
    this.recoloured = () => {};
    this.known = new Map();
    this.learn();
    this.materials = Object.fromEntries(
      Object.entries(data.bodies.materials).map(([word, colours]) => [word, this.made(colours)]),
    );
    this.cube = new THREE.BoxGeometry(1, 1, 1);
    this.cubeEdges = new THREE.EdgesGeometry(this.cube);
    this.hatched = [0, 1, 2].map(() => new THREE.MeshLambertMaterial());
    this.numbers = new Map();
    this.colour();
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => {
      this.colour();
      this.recoloured();
    });
  }

  // Surfaces and materials, both shared among parts.

  /** Makes the looks that the page's data describe; those that were known before are kept. */
  learn() {
    this.looks = data.bodies.looks.map((pieces) => {
      const key = JSON.stringify(pieces);
      if (!this.known.has(key)) this.known.set(key, pieces.map((piece) => this.geometry(piece)));
      return this.known.get(key);
    });
  }

  geometry({ material, corners, triangles, edges }) {
    const { THREE } = this;
    const at = (numbers) => {
      const points = [];
      for (const number of numbers) {
        for (let axis = 0; axis < 3; axis += 1) points.push(corners[3 * number + axis] - 0.5);
      }
      return new THREE.Float32BufferAttribute(points, 3);
    };
    const faces = new THREE.BufferGeometry().setAttribute("position", at(triangles));
    faces.computeVertexNormals();
    const lines = new THREE.BufferGeometry().setAttribute("position", at(edges));
    return { material, faces, lines };
  }

  made({ opacity, ...colours }) {
    const { THREE } = this;
    const glass = opacity < 1 ? { transparent: true, opacity, depthWrite: false } : {};
    return {
      colours,
      off: new THREE.MeshLambertMaterial(glass),
      on: new THREE.MeshLambertMaterial(glass),
      edge: new THREE.LineBasicMaterial(),
      onEdge: new THREE.LineBasicMaterial(),
    };
  }

  /** Sets all colours to those of the page's theme. */
  colour() {
    for (const { colours, off, on, edge, onEdge } of Object.values(this.materials)) {
      off.color.set(themed(colours.fill));
      on.color.set(themed(colours.onFill));
      on.emissive.copy(on.color).multiplyScalar(0.25);
      edge.color.set(themed(colours.line));
      onEdge.color.set(themed(colours.onLine));
    }
    const { fill, onFill } = data.bodies.materials.solid;
    this.hatched.forEach((material, kind) => {
      material.map?.dispose();
      material.map = this.hatching(themed(kind ? onFill : fill), kind);
      material.needsUpdate = true;
    });
    this.numbers.clear();
  }

  /** The face of a solid: blank, hatched (charged), or hatched both ways (driven). */
  hatching(ground, kind) {
    const size = 256;
    const canvas = document.createElement("canvas");
    canvas.width = canvas.height = size;
    const context = canvas.getContext("2d");
    context.fillStyle = ground;
    context.fillRect(0, 0, size, size);
    context.strokeStyle = themed(["on-line", "#7a4700"]);
    context.lineWidth = 9;
    context.beginPath();
    for (let at = -size; kind > 0 && at < 2 * size; at += 43) {
      context.moveTo(at, size);
      context.lineTo(at + size, 0);
      if (kind === 2) {
        context.moveTo(at, 0);
        context.lineTo(at + size, size);
      }
    }
    context.stroke();
    const map = new this.THREE.CanvasTexture(canvas);
    map.colorSpace = this.THREE.SRGBColorSpace;
    map.anisotropy = 8;
    return map;
  }

  /** A look as a group; `power(on)` gives it the colours of that state. */
  piece(number) {
    const { THREE } = this;
    const group = new THREE.Group();
    const parts = this.looks[number].map(({ material, faces, lines }) => {
      const made = this.materials[material];
      const mesh = new THREE.Mesh(faces, made.off);
      const edges = new THREE.LineSegments(lines, made.edge);
      edges.raycast = () => {};
      group.add(mesh, edges);
      return { made, mesh, edges };
    });
    group.power = (on) => {
      for (const { made, mesh, edges } of parts) {
        mesh.material = on ? made.on : made.off;
        edges.material = on ? made.onEdge : made.edge;
      }
    };
    return group;
  }

  // The bodies.

  /** The body of a cell, as the data of the page describe it. */
  body(cell) {
    const looks = data.bodies.of[data.cells.indexOf(cell)];
    if (cell.part === "solid") return this.solid();
    if (cell.part === "wire") return this.wire(...looks);
    const group = this.piece(looks[0]);
    if (cell.part === "clear" || cell.part === "ledge") group.scale.setScalar(SNUG);
    else group.paint = ({ value }) => group.power(value > 0);
    if (cell.part === "buffer" && cell.delay > data.bodies.notches) {
      const ticks = this.number(cell.delay).clone();
      ticks.position.z = 0.05;
      group.add(ticks);
    }
    return group;
  }

  solid() {
    const { THREE } = this;
    const mesh = new THREE.Mesh(this.cube, this.hatched[0]);
    const edges = new THREE.LineSegments(this.cubeEdges, this.materials.solid.edge);
    edges.raycast = () => {};
    mesh.add(edges);
    mesh.scale.setScalar(SNUG);
    mesh.paint = ({ value }) => {
      mesh.material = this.hatched[value];
    };
    return mesh;
  }

  wire(offLook, onLook) {
    const { THREE } = this;
    const group = new THREE.Group();
    const [off, on] = [this.piece(offLook), this.piece(onLook)];
    on.power(true);
    group.add(off, on);
    let shown = null;
    let number = null;
    group.paint = ({ value }) => {
      off.visible = !value;
      on.visible = value > 0;
      this.raise(on, value);
      if (value === shown && this.numbers.has(value)) return;
      shown = value;
      if (number) group.remove(number);
      number = value ? this.number(value).clone() : null;
      if (!number) return;
      number.position.z = FLOOR + 0.46;
      group.add(number);
    };
    group.paint({ value: 0 });
    return group;
  }

  /** Sets the height of a wire by its strength; its foot stays where it is. */
  raise(body, value) {
    const share = value / this.reach;
    body.scale.z = WEAKEST + (1 - WEAKEST) * share;
    body.position.z = FLOOR * (1 - body.scale.z);
  }

  /** A number on a small plate, made once for each value. */
  number(value) {
    if (!this.numbers.has(value)) {
      const ink = themed(["ink", "#17212b"]);
      const paper = themed(["paper", "#ffffff"]);
      this.numbers.set(value, label(this.THREE, String(value), { ink, paper }, 0.24));
    }
    return this.numbers.get(value);
  }

  /** The upright of a link between wires one step apart; an arrow where strength only climbs. */
  riser(from, to, both) {
    const way = Object.keys(VECTORS).find(
      (name) => VECTORS[name][0] === to[0] - from[0] && VECTORS[name][1] === to[1] - from[1],
    );
    const group = new this.THREE.Group();
    const [off, on] = data.bodies.risers[both ? way : `${way}!`].map((look) => this.piece(look));
    on.power(true);
    group.add(off, on);
    group.position.set(...from);
    group.paintBetween = (one, other) => {
      on.visible = one > 0 && other > 0;
      off.visible = !on.visible;
    };
    group.paintBetween(0, 0);
    return group;
  }

  /** The name of a pin and an arrow along its signal, beyond what stands outside the pin. */
  pin(pin, at) {
    const { THREE } = this;
    const group = new THREE.Group();
    const out = VECTORS[pin.face];
    const opposite = { "+x": "-x", "-x": "+x", "+y": "-y", "-y": "+y" }[pin.face];
    const arrow = this.piece(data.bodies.arrows[pin.role === "input" ? opposite : pin.face]);
    arrow.scale.setScalar(0.5);
    arrow.position.set(out[0] * 0.76, out[1] * 0.76, FLOOR + 0.12);
    const name = label(THREE, pin.name, { ink: "#ffffff", paper: "#1f5fa8", onTop: true }, 0.46);
    name.position.set(out[0] * 1.1, out[1] * 1.1, 0.05);
    group.add(arrow, name);
    group.position.set(...at);
    return group;
  }
}

// The bodies of the parts in the model. Each is a group with `paint(look)`: power brightens it
// and changes its form as well (thick or thin, filled or open, hatched or blank).
//
// The model has the axes of the layout: x along, y across, z up; a cell is a cube of edge 1
// about its middle.

import { hatchings, label } from "page/labels";

export const INK = "#16243a";
const OFF = "#9db0c9";
const SOLID = "#dbe5f0";
const WEAK = "#a86f14";
const STRONG = "#ffb21a";
const FLOOR = -0.44;

export const VECTORS = {
  "+x": [1, 0, 0],
  "-x": [-1, 0, 0],
  "+y": [0, 1, 0],
  "-y": [0, -1, 0],
  "+z": [0, 0, 1],
  "-z": [0, 0, -1],
};

export class Shapes {
  constructor(THREE, reach) {
    this.THREE = THREE;
    this.reach = reach;
    this.faces = hatchings(THREE);
    this.edge = new THREE.LineBasicMaterial({ color: INK });
    this.fineEdge = new THREE.LineBasicMaterial({ color: INK, transparent: true, opacity: 0.5 });
    this.off = new THREE.Color(OFF);
    this.weak = new THREE.Color(WEAK);
    this.strong = new THREE.Color(STRONG);
  }

  /** The body of a cell, as the data of the page describe it. */
  body(cell) {
    if (cell.part === "solid") return this.solid();
    if (cell.part === "clear") return this.clear();
    if (cell.part === "ledge") return this.ledge();
    if (cell.part === "wire") return this.wire(cell.runs);
    if (cell.part === "inverter") return this.inverter(cell.facing);
    return this.buffer(cell.facing, cell.delay);
  }

  /** Colour of a part with power from 0 to 1. */
  tint(material, power) {
    if (power > 0) material.color.copy(this.weak).lerp(this.strong, power);
    else material.color.copy(this.off);
    material.emissive.copy(material.color).multiplyScalar(power > 0 ? 0.25 + 0.35 * power : 0);
  }

  material(color = OFF) {
    return new this.THREE.MeshLambertMaterial({ color });
  }

  outlined(geometry, material, edge = this.edge) {
    const { THREE } = this;
    const mesh = new THREE.Mesh(geometry, material);
    const lines = new THREE.LineSegments(new THREE.EdgesGeometry(geometry, 30), edge);
    lines.raycast = () => {};
    mesh.add(lines);
    return mesh;
  }

  /** An open ring where there is no power, a filled bead where there is, as in the plans. */
  bead(radius) {
    const { THREE } = this;
    const group = new THREE.Group();
    const ring = new THREE.Mesh(
      new THREE.TorusGeometry(radius * 0.8, radius * 0.22, 10, 28),
      new THREE.MeshLambertMaterial({ color: INK }),
    );
    const full = new THREE.Mesh(
      new THREE.SphereGeometry(radius * 1.15, 20, 14),
      new THREE.MeshLambertMaterial({ color: INK }),
    );
    group.add(ring, full);
    group.paint = (on) => {
      ring.visible = !on;
      full.visible = on;
    };
    return group;
  }

  solid() {
    const { THREE } = this;
    const material = new THREE.MeshLambertMaterial({ color: SOLID, map: this.faces[0] });
    const mesh = this.outlined(new THREE.BoxGeometry(0.94, 0.94, 0.94), material);
    mesh.paint = ({ value }) => {
      material.map = this.faces[value];
      material.color.set(["#e4ecf5", "#ffd27a", "#ffbe3d"][value]);
      material.emissive.set(["#000000", "#3a2500", "#5a3a00"][value]);
    };
    return mesh;
  }

  clear() {
    const { THREE } = this;
    const material = new THREE.MeshBasicMaterial({
      color: "#6fa3d8",
      transparent: true,
      opacity: 0.13,
      depthWrite: false,
    });
    return this.outlined(new THREE.BoxGeometry(0.94, 0.94, 0.94), material, this.fineEdge);
  }

  ledge() {
    const { THREE } = this;
    const material = new THREE.MeshLambertMaterial({
      color: "#8fb6de",
      transparent: true,
      opacity: 0.42,
      depthWrite: false,
    });
    const group = new THREE.Group();
    const shelf = this.outlined(new THREE.BoxGeometry(0.94, 0.94, 0.44), material, this.fineEdge);
    shelf.position.z = 0.25;
    group.add(shelf);
    return group;
  }

  wire(runs) {
    const { THREE } = this;
    const material = this.material();
    const group = new THREE.Group();
    const arms = runs.map((way) => {
      const [x, y] = VECTORS[way];
      const arm = new THREE.Mesh(new THREE.BoxGeometry(1, 1, 1), material);
      arm.position.set(x * 0.25, y * 0.25, FLOOR);
      group.add(arm);
      return { arm, along: x ? "x" : "y" };
    });
    const bead = this.bead(0.12);
    bead.position.z = FLOOR + 0.04;
    group.add(bead);
    let number = null;
    group.paint = ({ value }) => {
      this.tint(material, value / this.reach);
      const thick = value ? 0.2 : 0.07;
      for (const { arm, along } of arms) {
        arm.scale.set(along === "x" ? 0.5 : thick, along === "y" ? 0.5 : thick, value ? 0.13 : 0.05);
      }
      bead.paint(value > 0);
      bead.position.z = value ? FLOOR + 0.1 : FLOOR + 0.04;
      if (number) group.remove(number);
      number = null;
      if (value) {
        number = label(THREE, String(value), { ink: INK, paper: "#fff6df" }, 0.24);
        number.position.z = FLOOR + 0.42;
        group.add(number);
      }
    };
    return group;
  }

  /** The upright of a link between wires one step apart; an arrow where strength only climbs. */
  riser(from, to, both) {
    const { THREE } = this;
    const material = this.material();
    const group = new THREE.Group();
    const bar = new THREE.Mesh(new THREE.BoxGeometry(1, 1, 1), material);
    bar.position.z = FLOOR + 0.5;
    group.add(bar);
    const along = to[0] !== from[0] ? "x" : "y";
    if (!both) {
      const arrow = new THREE.Mesh(new THREE.ConeGeometry(0.13, 0.26, 18), material);
      arrow.rotation.x = Math.PI / 2;
      arrow.position.z = FLOOR + 0.55;
      group.add(arrow);
    }
    group.position.set((from[0] + to[0]) / 2, (from[1] + to[1]) / 2, from[2]);
    group.paintBetween = (one, other) => {
      const value = one && other ? Math.max(one, other) : 0;
      this.tint(material, value / this.reach);
      const thick = value ? 0.13 : 0.05;
      const wide = value ? 0.2 : 0.07;
      bar.scale.set(along === "x" ? thick : wide, along === "y" ? thick : wide, 1 + thick);
    };
    return group;
  }

  /** A triangle from its host to a bubble, turned about, as drawn in logic design. */
  inverter(on) {
    const { THREE } = this;
    const material = this.material();
    const group = new THREE.Group();
    const cone = new THREE.Mesh(new THREE.CylinderGeometry(0.05, 0.29, 0.56, 28), material);
    cone.position.y = -0.19;
    const foot = this.outlined(new THREE.CylinderGeometry(0.31, 0.31, 0.05, 28), material);
    foot.position.y = -0.46;
    const bubble = this.bead(0.13);
    bubble.position.y = 0.25;
    bubble.rotation.x = Math.PI / 2;
    const across = this.bead(0.13);
    across.position.y = 0.25;
    group.add(cone, foot, bubble, across);
    const away = VECTORS[on].map((step) => -step);
    group.quaternion.setFromUnitVectors(new THREE.Vector3(0, 1, 0), new THREE.Vector3(...away));
    group.paint = ({ value }) => {
      this.tint(material, value);
      bubble.paint(value > 0);
      across.paint(value > 0);
    };
    return group;
  }

  /** A flat triangle that points to its front, with a post at its back for each tick of delay. */
  buffer(to, delay) {
    const { THREE } = this;
    const material = this.material();
    const group = new THREE.Group();
    const outline = new THREE.Shape();
    outline.moveTo(-0.26, -0.36);
    outline.lineTo(0.36, 0);
    outline.lineTo(-0.26, 0.36);
    outline.closePath();
    const wedge = this.outlined(
      new THREE.ExtrudeGeometry(outline, { depth: 0.22, bevelEnabled: false }),
      material,
    );
    wedge.position.z = FLOOR;
    group.add(wedge);
    const plate = this.outlined(new THREE.BoxGeometry(0.9, 0.82, 0.05), this.material("#eef3f8"));
    plate.position.z = FLOOR - 0.02;
    group.add(plate);
    const dark = new THREE.MeshLambertMaterial({ color: INK });
    const posts = Math.min(delay, 8);
    for (let index = 0; index < posts; index += 1) {
      const post = new THREE.Mesh(new THREE.BoxGeometry(0.07, 0.07, 0.34), dark);
      post.position.set(-0.37, (index - (posts - 1) / 2) * 0.17, FLOOR + 0.17);
      group.add(post);
    }
    const bead = this.bead(0.11);
    bead.position.set(-0.04, 0, FLOOR + 0.26);
    group.add(bead);
    const [x, y] = VECTORS[to];
    group.rotation.z = Math.atan2(y, x);
    group.paint = ({ value }) => {
      this.tint(material, value);
      bead.paint(value > 0);
    };
    return group;
  }

  /** The name of a pin and an arrow the way its signal goes, beyond what stands outside. */
  pin(pin, at) {
    const { THREE } = this;
    const group = new THREE.Group();
    const out = VECTORS[pin.face];
    const inwards = pin.role === "input";
    const material = new THREE.MeshLambertMaterial({ color: "#1f5fa8" });
    const arrow = new THREE.Mesh(new THREE.ConeGeometry(0.13, 0.34, 20), material);
    const way = new THREE.Vector3(...out).multiplyScalar(inwards ? -1 : 1);
    arrow.quaternion.setFromUnitVectors(new THREE.Vector3(0, 1, 0), way);
    arrow.position.set(out[0] * 0.75, out[1] * 0.75, FLOOR + 0.06);
    const name = label(THREE, pin.name, { ink: "#ffffff", paper: "#1f5fa8", onTop: true }, 0.46);
    name.position.set(out[0] * 1.1, out[1] * 1.1, 0.05);
    group.add(arrow, name);
    group.position.set(...at);
    return group;
  }
}

// The model, which can be turned, zoomed, sliced, pulled apart and pointed at. Without WebGL a note
// says so, and the layers are still there.

import { Camera } from "page/camera";
import { Crowd } from "page/crowd";
import { byId, data } from "page/dom";
import { Outlines } from "page/outlines";
import { Overlay } from "page/overlay";
import { makePointing } from "page/pointing";
import { Pulse } from "page/pulse";
import { Shapes, VECTORS } from "page/shapes";

const NO_SCENE = { paint() {}, renew() {}, rectangle: () => null, viewText: () => "", restoreView() {} };

/** Makes the model, or a note in its place if the browser cannot draw it. */
export async function makeScene(host, play, picks) {
  const trial = document.createElement("canvas").getContext("webgl2");
  if (!trial) return without(host);
  trial.getExtension("WEBGL_lose_context")?.loseContext();
  const THREE = await import("three");
  const { OrbitControls } = await import("three-orbit");
  const scene = new Scene(THREE, OrbitControls, host, play, picks);
  return {
    paint: () => scene.paint(),
    renew: () => scene.renew(),
    rectangle: (cell) => scene.rectangle(cell),
    viewText: () => scene.viewText(),
    restoreView: (text) => scene.restoreView(text),
    set changed(act) {
      scene.changed = act;
    },
  };
}

function without(host) {
  host.hidden = true;
  byId("bench").classList.add("is-flat");
  document.body.classList.add("has-no-model");
  byId("no-scene").hidden = false;
  byId("no-scene").textContent =
    "This browser has no WebGL, so it cannot draw the model. The layers below show the same " +
    "cells with the same power. You can click them, too.";
  return { ...NO_SCENE };
}

class Scene {
  constructor(THREE, OrbitControls, host, play, picks) {
    Object.assign(this, { THREE, host, play, picks });
    this.renderer = new THREE.WebGLRenderer({
      antialias: true,
      alpha: true,
      preserveDrawingBuffer: true, // so that the model can be printed
    });
    this.renderer.setPixelRatio(Math.min(2, window.devicePixelRatio || 1));
    host.append(this.renderer.domElement);
    this.overlay = new Overlay(host);
    this.scene = new THREE.Scene();
    this.camera = new Camera(THREE, OrbitControls, this.renderer.domElement, () => {
      this.render();
      this.changed?.();
    });
    this.shapes = new Shapes(THREE, data.reach);
    this.shapes.recoloured = () => this.recolour();
    this.caster = new THREE.Raycaster();
    this.light();
    this.frame();
    this.marker = this.box([1.02, 1.035, 1.05]);
    this.fill();
    this.showing();
    this.ghosts();
    makePointing(this, host, picks);
    this.recolour();
    this.arrange();
    this.camera.look("corner");
    new ResizeObserver(() => this.resize()).observe(host);
    this.resize();
  }

  /** Makes everything that the data of the page describe. */
  fill() {
    const { THREE, shapes } = this;
    this.crowd = new Crowd(THREE, shapes, data.cells, data.links);
    this.pulse = new Pulse(
      THREE,
      data.links,
      (cell) => this.crowd.place(data.cells[cell].at),
      () => this.render(),
    );
    this.scene.add(this.crowd.group, this.pulse.beads);
    this.pins();
    this.faulty = [...new Set(data.faults.map(({ cell }) => cell))].map((cell) => {
      return { cell, mark: this.box([0.99, 1.0, 1.01]) };
    });
    this.targets();
    this.outlines ??= new Outlines(THREE, this.scene, (cell) => this.crowd.place(cell));
    this.solids = null;
    this.before = undefined;
  }

  /** Takes up new data of the page: another layout, or the same one edited. */
  renew() {
    const gone = [
      this.crowd.group,
      this.pulse.beads,
      this.boxes,
      ...this.arrows.map(({ mark }) => mark),
      ...this.faulty.map(({ mark }) => mark),
    ];
    this.scene.remove(...gone);
    this.crowd.drop();
    this.boxes.dispose();
    this.shapes.learn();
    const { seeThrough } = this.crowd;
    this.fill();
    this.crowd.seeThrough = seeThrough;
    this.bound();
    byId("ghosts-label").hidden = !data.stack;
    this.recolour();
    this.arrange();
  }

  light() {
    const { THREE } = this;
    this.scene.add(new THREE.HemisphereLight("#ffffff", "#c9d2de", 2.5));
    const sun = new THREE.DirectionalLight("#ffffff", 1.5);
    sun.position.set(-3, -5, 8);
    this.scene.add(sun);
  }

  valueOf = (cell) => this.play?.look(cell)?.value ?? 0;

  paint() {
    if (this.isolated !== this.picks.piece) this.isolate();
    this.crowd.paint(this.valueOf);
    const { play, before } = this;
    const now = play ? play.timeline[play.cursor] : null;
    if (play && before !== undefined && now !== before && play.cursor > 0) {
      const last = play.cursor - 1;
      this.pulse.start(this.valueOf, (cell) => play.look(cell, last)?.value > 0, data.reach);
    }
    this.before = now;
    const { shown } = this.picks;
    this.marker.visible = shown !== null;
    if (shown !== null) this.marker.position.set(...this.crowd.place(data.cells[shown].at));
    this.render();
  }

  /** Shows one piece in full and the rest pale, or everything again. */
  isolate() {
    this.isolated = this.picks.piece;
    const piece = data.pieces?.[this.isolated];
    this.crowd.only = piece ? new Set(piece.cells) : null;
    this.camera.whole();
    this.arrange();
  }

  /** The colours of the page's theme that are used here. */
  recolour() {
    const style = getComputedStyle(document.documentElement);
    const colour = (name) => style.getPropertyValue(`--${name}`).trim();
    this.grid.material.color.set(colour("edge"));
    for (const drawn of this.marker.children) drawn.material.color.set(colour("blue"));
    for (const { mark } of this.faulty) {
      for (const drawn of mark.children) drawn.material.color.set(colour("fault"));
    }
    this.pulse.beads.material.color.set(colour("ink"));
    this.outlines.colour(colour("blue"));
    this.overlay.colours = Object.fromEntries(
      ["ink", "soft", "sheet", "blue", "fault", "power-pale"].map((name) => [name, colour(name)]),
    );
    this.render();
  }

  /** The floor of the box as a grid, and the edges at its corners. */
  frame() {
    const { THREE } = this;
    this.grid = new THREE.LineSegments(
      new THREE.BufferGeometry(),
      new THREE.LineBasicMaterial({ transparent: true, opacity: 0.45 }),
    );
    this.grid.position.set(-0.5, -0.5, -0.5);
    this.scene.add(this.grid);
  }

  drawFrame(top) {
    const { THREE } = this;
    const [length, width] = data.size;
    const points = [];
    const line = (a, b) => points.push(new THREE.Vector3(...a), new THREE.Vector3(...b));
    for (let x = 0; x <= length; x += 1) line([x, 0, 0], [x, width, 0]);
    for (let y = 0; y <= width; y += 1) line([0, y, 0], [length, y, 0]);
    for (const [x, y] of [[0, 0], [length, 0], [0, width], [length, width]]) {
      line([x, y, 0], [x, y, top]);
    }
    this.grid.geometry.dispose();
    this.grid.geometry = new THREE.BufferGeometry().setFromPoints(points);
  }

  pins() {
    this.arrows = data.pins.map((pin) => {
      const mark = this.shapes.pin(pin, data.cells[pin.cell].at);
      // The overlay writes its name.
      mark.traverse((object) => (object.visible = !object.isSprite));
      this.scene.add(mark);
      return { mark, pin };
    });
  }

  /** A frame around a cell, visible through everything: the chosen one, those at fault. */
  box(sizes) {
    const { THREE } = this;
    const marker = new THREE.Group();
    for (const size of sizes) {
      const edges = new THREE.EdgesGeometry(new THREE.BoxGeometry(size, size, size));
      const drawn = new THREE.LineSegments(edges, new THREE.LineBasicMaterial());
      drawn.renderOrder = 6;
      drawn.material.depthTest = false;
      marker.add(drawn);
    }
    this.scene.add(marker);
    return marker;
  }

  /** What the pointer hits: a flat box for a wire or buffer, which are low, else a cube. */
  targets() {
    const { THREE } = this;
    this.boxes = new THREE.InstancedMesh(
      new THREE.BoxGeometry(0.96, 0.96, 0.96),
      new THREE.MeshBasicMaterial({ visible: false }),
      data.cells.length,
    );
    this.scene.add(this.boxes);
  }

  placeTargets() {
    const matrix = new this.THREE.Matrix4();
    this.hits = [];
    data.cells.forEach((cell, number) => {
      if (!this.crowd.inside(cell.at[2]) || !this.crowd.full({ number })) return;
      const low = cell.part === "wire" || cell.part === "buffer";
      const [x, y, z] = this.crowd.place(cell.at);
      matrix.makeScale(1, 1, low ? 0.42 : 1).setPosition(x, y, low ? z - 0.28 : z);
      this.boxes.setMatrixAt(this.hits.length, matrix);
      this.hits.push(number);
    });
    this.boxes.count = this.hits.length;
    this.boxes.instanceMatrix.needsUpdate = true;
    this.boxes.boundingSphere = null;
  }

  /** The cell that is visible at a point of the canvas, in pixels. */
  hit(x, y) {
    const found = this.ray(x, y).intersectObject(this.boxes, false)[0];
    return found ? this.hits[found.instanceId] : null;
  }

  ray(x, y) {
    const [wide, high] = this.camera.size;
    const at = new this.THREE.Vector2((x / wide) * 2 - 1, 1 - (y / high) * 2);
    this.caster.setFromCamera(at, this.camera.view3d);
    return this.caster;
  }

  /** The empty place before the face seen there: [x, y, z], or on the floor, or null. */
  faceAt(x, y) {
    const found = this.ray(x, y).intersectObject(this.boxes, false)[0];
    if (found) {
      const { at } = data.cells[this.hits[found.instanceId]];
      const way = found.face.normal;
      return [at[0] + Math.round(way.x), at[1] + Math.round(way.y), at[2] + Math.round(way.z)];
    }
    const from = Number(this.bounds.low.value);
    const floor = new this.THREE.Plane(
      new this.THREE.Vector3(0, 0, 1),
      0.5 - from * (1 + this.crowd.apart),
    );
    const at = this.caster.ray.intersectPlane(floor, new this.THREE.Vector3());
    return at ? [Math.round(at.x), Math.round(at.y), from] : null;
  }

  /** The rectangle of the window in which a cell is seen; null if its layer is not shown. */
  rectangle(cell) {
    const { at } = data.cells[cell];
    if (!this.crowd.inside(at[2])) return null;
    const box = this.renderer.domElement.getBoundingClientRect();
    const [x, y, z] = this.crowd.place(at);
    const corners = [-0.5, 0.5].flatMap((dx) =>
      [-0.5, 0.5].flatMap((dy) =>
        [-0.5, 0.5].map((dz) =>
          this.camera.project(new this.THREE.Vector3(x + dx, y + dy, z + dz)),
        ),
      ),
    );
    const [across, down] = [0, 1].map((axis) => corners.map((corner) => corner[axis]));
    const within = (value, most) => Math.max(0, Math.min(value, most));
    return {
      left: box.left + within(Math.min(...across), box.width),
      right: box.left + within(Math.max(...across), box.width),
      top: box.top + within(Math.min(...down), box.height),
      bottom: box.top + within(Math.max(...down), box.height),
    };
  }

  /** Sliders and boxes: which layers, how far apart, and whether solids are see-through. */
  showing() {
    const [low, high, apart] = [byId("slice-low"), byId("slice-high"), byId("apart")];
    this.bounds = { low, high, apart };
    this.bound();
    low.addEventListener("input", () => {
      if (Number(low.value) > Number(high.value)) high.value = low.value;
      this.arrange();
    });
    high.addEventListener("input", () => {
      if (Number(low.value) > Number(high.value)) low.value = high.value;
      this.arrange();
    });
    apart.addEventListener("input", () => this.arrange());
    byId("outlines")?.addEventListener("change", () => {
      this.outlines.arrange(this.isolated);
      this.render();
    });
    byId("see-through").addEventListener("change", (event) => {
      this.crowd.veilAll(event.target.checked);
      this.render();
      this.changed?.();
    });
  }

  /** Lets the sliders go over all layers; what all were shown of stays shown whole. */
  bound() {
    const { low, high, apart } = this.bounds;
    const top = data.size[2] - 1;
    const whole =
      this.highest === undefined ||
      (Number(low.value) === 0 && Number(high.value) === this.highest);
    this.highest = top;
    low.max = high.max = top;
    if (whole) [low.value, high.value] = [0, top];
    low.disabled = high.disabled = apart.disabled = top === 0;
  }

  slice(step) {
    const { low, high } = this.bounds;
    high.value = Number(high.value) + step;
    if (Number(low.value) > Number(high.value)) low.value = high.value;
    this.arrange();
  }

  /** Moves everything to where the sliders put it. */
  arrange() {
    const [from, to, apart] = ["low", "high", "apart"].map((name) =>
      Number(this.bounds[name].value),
    );
    const inside = (z) => z >= from && z <= to;
    byId("slice-low-text").textContent = from;
    byId("slice-high-text").textContent = to;
    byId("apart-text").textContent = `${apart} cell${apart === 1 ? "" : "s"}`;
    for (const plan of document.querySelectorAll(".plan")) {
      plan.classList.toggle("is-cut", !inside(Number(plan.dataset.layer)));
    }
    this.crowd.arrange(inside, apart);
    this.crowd.paint(this.valueOf);
    this.drawFrame(this.top());
    for (const { mark, pin } of this.arrows) {
      mark.visible = inside(pin.at[2]);
      mark.position.set(...this.crowd.place(data.cells[pin.cell].at));
    }
    for (const { cell, mark } of this.faulty) {
      mark.visible = inside(data.cells[cell].at[2]);
      mark.position.set(...this.crowd.place(data.cells[cell].at));
    }
    const { shown } = this.picks;
    if (shown !== null) this.marker.position.set(...this.crowd.place(data.cells[shown].at));
    this.placeTargets();
    this.outlines.arrange(this.isolated);
    this.drawGhosts();
    this.measure();
    this.changed?.();
  }

  /** The height of the box, with its layers pulled apart. */
  top() {
    return (data.size[2] - 1) * (1 + this.crowd.apart) + 1;
  }

  /** The points that must be in view: the box, what stands outside it, and copies if shown. */
  measure() {
    const { THREE } = this;
    const alone = this.outlines.around(this.isolated);
    if (alone) {
      this.camera.see(...alone);
      return;
    }
    const low = [-0.5, -0.5, -0.5];
    const high = [data.size[0] - 0.5, data.size[1] - 0.5, this.top() - 0.5];
    const middle = new THREE.Vector3(...low.map((at, axis) => (at + high[axis]) / 2));
    if (this.withCopies && data.stack) {
      const axis = "xyz".indexOf(data.stack.axis);
      const step = this.step(1)[axis];
      low[axis] -= step;
      high[axis] += step;
    }
    const outline = [];
    for (const x of [low[0], high[0]]) {
      for (const y of [low[1], high[1]]) {
        for (const z of [low[2], high[2]]) outline.push(new THREE.Vector3(x, y, z));
      }
    }
    for (const pin of data.pins) outline.push(this.nameAt(pin, 0.9));
    this.camera.see(outline, middle);
  }

  nameAt(pin, far) {
    const at = new this.THREE.Vector3(...this.crowd.place(data.cells[pin.cell].at));
    at.z -= 0.3;
    return at.addScaledVector(new this.THREE.Vector3(...VECTORS[pin.face]), far);
  }

  /** Copies of a stack, one on either side, as pale bodies without power. */
  ghosts() {
    byId("ghosts-label").hidden = !data.stack;
    this.pale = new this.THREE.MeshLambertMaterial({
      color: "#8fa3bd",
      transparent: true,
      opacity: 0.16,
      depthWrite: false,
    });
    byId("ghosts").addEventListener("change", (event) => {
      this.withCopies = event.target.checked;
      this.drawGhosts();
      this.measure();
    });
  }

  step(side) {
    const shift = [0, 0, 0];
    const axis = "xyz".indexOf(data.stack.axis);
    shift[axis] = side * data.stack.pitch * (axis === 2 ? 1 + this.crowd.apart : 1);
    return shift;
  }

  drawGhosts() {
    if (this.copies) this.scene.remove(this.copies);
    this.copies = null;
    if (!this.withCopies || !data.stack) return;
    this.copies = this.crowd.copies(this.pale, [this.step(-1), this.step(1)]);
    this.scene.add(this.copies);
  }

  resize() {
    const { clientWidth, clientHeight } = this.host;
    if (!clientWidth || !clientHeight) return;
    this.renderer.setSize(clientWidth, clientHeight, false);
    this.overlay.resize(clientWidth, clientHeight);
    this.camera.resize(clientWidth, clientHeight);
  }

  /** As text: the camera, the distance of layers, the layers, and whether solids are see-through. */
  viewText() {
    const { low, high, apart } = this.bounds;
    const through = byId("see-through").checked;
    const shown = [apart.value, low.value, high.value, Number(through)].join(",");
    const usual = [0, 0, data.size[2] - 1, 0].join(",");
    const seen = this.camera.text();
    return seen || shown !== usual ? `${seen || "corner"};${shown}` : "";
  }

  restoreView(text) {
    const [seen, shown = ""] = text.split(";");
    const [apart, low, high, through] = shown.split(",");
    if (shown) {
      Object.entries({ apart, low, high }).forEach(([name, value]) => {
        if (value !== undefined) this.bounds[name].value = value;
      });
      byId("see-through").checked = through === "1";
      this.crowd.veilAll(through === "1");
      this.arrange();
    }
    if (seen && seen !== "corner") this.camera.restore(...seen.split(",").map(Number));
  }

  /** Words for the overlay: names of pins, faults, and the strengths of visible wires. */
  words() {
    const { THREE } = this;
    const words = data.pins
      .filter((pin) => this.crowd.inside(pin.at[2]) && this.inWindow(pin))
      .map((pin) => {
        return { kind: "pin", text: pin.name, at: this.nameAt(pin, 0), out: this.nameAt(pin, 0.9) };
      });
    words.push(...this.outlines.words());
    for (const { cell, mark } of this.faulty) {
      if (mark.visible) words.push({ kind: "fault", at: this.pointOf(cell) });
    }
    if (!this.play) return words;
    const towards = this.camera.towards;
    data.cells.forEach((cell, number) => {
      if (cell.part !== "wire" || !this.crowd.inside(cell.at[2])) return;
      if (!this.crowd.full({ number })) return;
      const value = this.valueOf(number);
      if (!value || this.hidden(cell.at, towards)) return;
      const at = new THREE.Vector3(...this.crowd.place(cell.at));
      at.z += 0.02;
      words.push({ kind: "strength", text: String(value), at });
    });
    return words;
  }

  /** Whether a pin is in view; of the whole layout all are, of a piece only those near it. */
  inWindow(pin) {
    if (!this.crowd.only) return true;
    const at = this.camera.project(this.nameAt(pin, 0));
    return at.every((pixel, axis) => pixel > 0 && pixel < this.camera.size[axis]);
  }

  pointOf(cell) {
    return new this.THREE.Vector3(...this.crowd.place(data.cells[cell].at));
  }

  /** Whether a solid stands between a wire and the eye. */
  hidden([x, y, z], towards) {
    if (this.crowd.seeThrough) return false;
    this.solids ??= new Set(
      data.cells.filter((cell) => cell.part === "solid").map((cell) => cell.at.join()),
    );
    const high = 1 + this.crowd.apart;
    for (let far = 0.6; far < 40; far += 0.25) {
      const up = z * high - 0.1 + towards.z * far;
      const layer = Math.round(up / high);
      const at = [Math.round(x + towards.x * far), Math.round(y + towards.y * far), layer];
      if (layer > data.size[2]) return false;
      if (Math.abs(up - layer * high) <= 0.5 && this.crowd.inside(layer)) {
        if (this.solids.has(at.join())) return true;
      }
    }
    return false;
  }

  render() {
    if (this.asked) return;
    this.asked = true;
    requestAnimationFrame(() => {
      this.asked = false;
      this.renderer.render(this.scene, this.camera.view3d);
      this.overlay.draw(this.camera, this.words());
    });
  }
}

// The model: turned, zoomed, sliced, pointed at. Without WebGL it says so and the plans remain.

import { byId, data } from "page/dom";
import { label } from "page/labels";
import { INK, Shapes, VECTORS } from "page/shapes";

const VIEWS = {
  corner: [-0.62, -1, 0.72],
  top: [0, -0.001, 1],
  front: [0, -1, 0.12],
  side: [1, -0.02, 0.12],
};
const TURN = Math.PI / 24;

/** Makes the model and returns the function that paints it; it never fails. */
export async function makeScene(host, play, picks) {
  const trial = document.createElement("canvas").getContext("webgl2");
  if (!trial) return without(host);
  trial.getExtension("WEBGL_lose_context")?.loseContext();
  const THREE = await import("three");
  const { OrbitControls } = await import("three-orbit");
  return new Scene(THREE, OrbitControls, host, play, picks).painter();
}

function without(host) {
  host.hidden = true;
  byId("bench").classList.add("is-flat");
  byId("no-scene").hidden = false;
  byId("no-scene").textContent =
    "This browser has no WebGL, so there is no model to turn. The layers below show the same " +
    "cells, with the same power, and can be pointed at as well.";
  return () => {};
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
    this.scene = new THREE.Scene();
    // Parallel rays, as in an engineering drawing: equal parts look equally large.
    this.camera = new THREE.OrthographicCamera(-1, 1, 1, -1, 0.1, 2000);
    this.camera.up.set(0, 0, 1);
    this.controls = new OrbitControls(this.camera, this.renderer.domElement);
    this.controls.enableDamping = false;
    this.controls.addEventListener("change", () => this.render());
    this.shapes = new Shapes(THREE, data.reach);
    this.shapes.recoloured = () => this.repaint?.();
    this.bodies = [];
    this.risers = [];
    this.light();
    this.frame();
    this.cells();
    this.marker = this.makeMarker();
    this.slicing();
    this.ghosts();
    this.pointing();
    this.tools();
    new ResizeObserver(() => this.resize()).observe(host);
    this.resize();
    this.view("corner");
  }

  painter() {
    this.repaint = () => {
      for (const { cell, body } of this.bodies) {
        const look = this.play?.look(cell) ?? { value: 0 };
        body.paint?.(look);
      }
      for (const { riser, from, to } of this.risers) {
        const value = (cell) => this.play?.look(cell).value ?? 0;
        riser.paintBetween(value(from), value(to));
      }
      const shown = this.picks.shown;
      this.marker.visible = shown !== null;
      if (shown !== null) this.marker.position.set(...data.cells[shown].at);
      this.render();
    };
    return this.repaint;
  }

  light() {
    const { THREE } = this;
    this.scene.add(new THREE.HemisphereLight("#ffffff", "#c9d2de", 2.5));
    const sun = new THREE.DirectionalLight("#ffffff", 1.5);
    sun.position.set(-3, -5, 8);
    this.scene.add(sun);
  }

  /** The box, its floor as a grid, and the names of the axes. */
  frame() {
    const { THREE } = this;
    const [length, width, height] = data.size;
    const points = [];
    const line = (a, b) => points.push(new THREE.Vector3(...a), new THREE.Vector3(...b));
    for (let x = 0; x <= length; x += 1) line([x, 0, 0], [x, width, 0]);
    for (let y = 0; y <= width; y += 1) line([0, y, 0], [length, y, 0]);
    for (const [x, y] of [[0, 0], [length, 0], [0, width], [length, width]]) {
      line([x, y, 0], [x, y, height]);
    }
    const grid = new THREE.LineSegments(
      new THREE.BufferGeometry().setFromPoints(points),
      new THREE.LineBasicMaterial({ color: "#5a6b84", transparent: true, opacity: 0.45 }),
    );
    grid.position.set(-0.5, -0.5, -0.5);
    this.scene.add(grid);
    const axis = (text, at) => {
      const name = label(THREE, text, { ink: "#3d4d66" }, 0.42);
      name.position.set(...at);
      this.scene.add(name);
    };
    axis("x", [length / 2 - 0.5, -0.95, -0.5]);
    axis("y", [-0.95, width / 2 - 0.5, -0.5]);
    axis("z", [length - 0.3, -0.75, height / 2 - 0.5]);
    this.middle = new THREE.Vector3((length - 1) / 2, (width - 1) / 2, (height - 1) / 2);
    this.measure(false);
  }

  cells() {
    this.model = new this.THREE.Group();
    data.cells.forEach((cell, number) => {
      const body = this.shapes.body(cell);
      const group = new this.THREE.Group();
      group.position.set(...cell.at);
      group.add(body, this.target(cell, number));
      group.userData = { cell: number, z: cell.at[2] };
      this.bodies.push({ cell: number, body });
      this.model.add(group);
    });
    for (const pin of data.pins) {
      const mark = this.shapes.pin(pin, data.cells[pin.cell].at);
      mark.userData = { z: pin.at[2], pin: true };
      this.model.add(mark);
    }
    for (const [from, to, both] of data.links) {
      const [one, other] = [data.cells[from].at, data.cells[to].at];
      if (one[2] === other[2]) continue;
      const riser = this.shapes.riser(one, other, both);
      riser.userData = { z: one[2], top: other[2] };
      this.risers.push({ riser, from, to });
      this.model.add(riser);
    }
    this.scene.add(this.model);
  }

  /** What the pointer hits: a flat box for a wire or buffer, which lie low, else the cube. */
  target(cell, number) {
    const { THREE } = this;
    const low = cell.part === "wire" || cell.part === "buffer";
    const box = new THREE.Mesh(
      new THREE.BoxGeometry(0.96, 0.96, low ? 0.4 : 0.96),
      new THREE.MeshBasicMaterial({ visible: false }),
    );
    if (low) box.position.z = -0.28;
    box.userData = { cell: number, target: true };
    return box;
  }

  makeMarker() {
    const { THREE } = this;
    const marker = new THREE.Group();
    for (const size of [1.02, 1.035, 1.05]) {
      const edges = new THREE.EdgesGeometry(new THREE.BoxGeometry(size, size, size));
      const line = new THREE.LineSegments(edges, new THREE.LineBasicMaterial({ color: "#0b4f9e" }));
      line.renderOrder = 6;
      line.material.depthTest = false;
      marker.add(line);
    }
    this.scene.add(marker);
    return marker;
  }

  slicing() {
    const [low, high] = [byId("slice-low"), byId("slice-high")];
    const top = data.size[2] - 1;
    low.max = high.max = top;
    low.value = 0;
    high.value = top;
    const slice = (moved) => {
      if (Number(low.value) > Number(high.value)) {
        if (moved === low) high.value = low.value;
        else low.value = high.value;
      }
      byId("slice-low-text").textContent = low.value;
      byId("slice-high-text").textContent = high.value;
      const inside = (z) => z >= Number(low.value) && z <= Number(high.value);
      const stacked = this.copies ? this.copies.children : [];
      for (const object of [this.model, ...stacked].flatMap((copy) => copy.children)) {
        const { z, top: upper } = object.userData;
        object.visible = inside(z) && (upper === undefined || inside(upper));
      }
      for (const plan of document.querySelectorAll(".plan")) {
        plan.classList.toggle("is-cut", !inside(Number(plan.dataset.layer)));
      }
      this.render();
    };
    low.addEventListener("input", () => slice(low));
    high.addEventListener("input", () => slice(high));
    this.slice = (step) => {
      high.value = Number(high.value) + step;
      slice(high);
    };
    slice(high);
  }

  /** Copies of a stack, one on either side, as pale bodies without power. */
  ghosts() {
    if (!data.stack) return;
    const { THREE } = this;
    byId("ghosts-label").hidden = false;
    const pale = new THREE.MeshLambertMaterial({
      color: "#8fa3bd",
      transparent: true,
      opacity: 0.16,
      depthWrite: false,
    });
    const line = new THREE.LineBasicMaterial({ color: INK, transparent: true, opacity: 0.25 });
    this.copies = null;
    byId("ghosts").addEventListener("change", (event) => {
      this.copies ??= this.makeGhosts(pale, line);
      this.copies.visible = event.target.checked;
      this.slice(0);
      this.measure(event.target.checked);
      this.fit();
    });
  }

  /** The points that have to be seen: the box, the names, and the copies of a stack if shown. */
  measure(stacked) {
    const { THREE } = this;
    const low = [-0.7, -1, -0.5];
    const high = data.size.map((cells) => cells - 0.5);
    if (stacked) {
      const axis = "xyz".indexOf(data.stack.axis);
      low[axis] -= data.stack.pitch;
      high[axis] += data.stack.pitch;
    }
    this.outline = [];
    for (const x of [low[0], high[0]]) {
      for (const y of [low[1], high[1]]) {
        for (const z of [low[2], high[2]]) this.outline.push(new THREE.Vector3(x, y, z));
      }
    }
    for (const pin of data.pins) {
      const name = new THREE.Vector3(...data.cells[pin.cell].at);
      this.outline.push(name.addScaledVector(new THREE.Vector3(...VECTORS[pin.face]), 1.3));
    }
    this.radius = Math.hypot(...low.map((at, axis) => high[axis] - at)) / 2;
  }

  makeGhosts(pale, line) {
    const copies = new this.THREE.Group();
    const step = "xyz".indexOf(data.stack.axis);
    for (const side of [-1, 1]) {
      const copy = this.model.clone();
      const dropped = [];
      copy.traverse((object) => {
        if (object.isSprite || object.userData.target || object.userData.pin) dropped.push(object);
        else if (object.isMesh) object.material = pale;
        else if (object.isLineSegments) object.material = line;
      });
      dropped.forEach((object) => object.removeFromParent());
      copy.position.setComponent(step, side * data.stack.pitch);
      copies.add(copy);
    }
    this.scene.add(copies);
    return copies;
  }

  pointing() {
    const { THREE, host, picks } = this;
    const caster = new THREE.Raycaster();
    let pressed = null;
    const hit = (event) => {
      const box = this.renderer.domElement.getBoundingClientRect();
      const at = new THREE.Vector2(
        ((event.clientX - box.left) / box.width) * 2 - 1,
        1 - ((event.clientY - box.top) / box.height) * 2,
      );
      caster.setFromCamera(at, this.camera);
      const targets = this.model.children
        .filter((group) => group.visible && group.userData.cell !== undefined)
        .map((group) => group.children.at(-1));
      return caster.intersectObjects(targets, false)[0]?.object.userData.cell ?? null;
    };
    host.addEventListener("pointermove", (event) => {
      if (event.pointerType === "mouse" && !event.buttons) picks.hover(hit(event));
    });
    host.addEventListener("pointerleave", () => {
      picks.hover(null);
      this.controls.enableZoom = false;
    });
    // The wheel scrolls the page until the model has been touched.
    this.controls.enableZoom = false;
    host.addEventListener(
      "pointerdown",
      (event) => {
        this.controls.enableZoom = true;
        pressed = [event.clientX, event.clientY];
        host.focus({ preventScroll: true });
      },
      true,
    );
    host.addEventListener("pointerup", (event) => {
      if (!pressed) return;
      const moved = Math.hypot(event.clientX - pressed[0], event.clientY - pressed[1]);
      if (moved < 6) picks.select(hit(event));
      pressed = null;
    });
  }

  tools() {
    for (const button of document.querySelectorAll("[data-view]")) {
      button.addEventListener("click", () => this.view(button.dataset.view));
    }
    for (const button of document.querySelectorAll("[data-zoom]")) {
      button.addEventListener("click", () => this.zoom(button.dataset.zoom === "in" ? 0.8 : 1.25));
    }
    this.host.addEventListener("keydown", (event) => {
      const turns = {
        ArrowLeft: [-TURN, 0],
        ArrowRight: [TURN, 0],
        ArrowUp: [0, -TURN],
        ArrowDown: [0, TURN],
      };
      if (turns[event.key]) this.turn(...turns[event.key]);
      else if (event.key === "+" || event.key === "=") this.zoom(0.85);
      else if (event.key === "-") this.zoom(1.18);
      else if (event.key === "PageUp") this.slice(1);
      else if (event.key === "PageDown") this.slice(-1);
      else if (event.key === "Home") this.view("corner");
      else return;
      event.preventDefault();
    });
  }

  // The camera.

  turn(around, down) {
    const offset = this.camera.position.clone().sub(this.controls.target);
    const far = offset.length();
    const angle = Math.atan2(offset.y, offset.x) + around;
    const tilt = Math.acos(offset.z / far) + down;
    const safe = Math.max(0.01, Math.min(Math.PI - 0.01, tilt));
    offset.set(Math.sin(safe) * Math.cos(angle), Math.sin(safe) * Math.sin(angle), Math.cos(safe));
    this.camera.position.copy(this.controls.target).addScaledVector(offset, far);
    this.controls.update();
    this.render();
  }

  zoom(factor) {
    this.camera.zoom = Math.max(0.2, Math.min(12, this.camera.zoom / factor));
    this.camera.updateProjectionMatrix();
    this.render();
  }

  view(name) {
    this.direction = new this.THREE.Vector3(...VIEWS[name]).normalize();
    this.fit();
  }

  /** Shows all of the model, as large as it goes, in the direction last asked. */
  fit() {
    this.controls.target.copy(this.middle);
    this.camera.position.copy(this.middle).addScaledVector(this.direction, 4 * this.radius + 10);
    this.camera.zoom = 1;
    this.controls.update();
    this.centre();
    this.controls.update();
    this.resize();
  }

  /** Puts the middle of what is seen in the middle, and finds half its width and height. */
  centre() {
    const [right, up, back] = [0, 1, 2].map(() => new this.THREE.Vector3());
    this.camera.updateMatrixWorld();
    this.camera.matrixWorld.extractBasis(right, up, back);
    const range = (axis) => {
      const along = this.outline.map((point) => point.dot(axis));
      return [Math.min(...along), Math.max(...along)];
    };
    const [left, far] = range(right);
    const [low, high] = range(up);
    const shift = right.multiplyScalar((left + far) / 2).addScaledVector(up, (low + high) / 2);
    shift.addScaledVector(back, this.middle.dot(back)).sub(this.controls.target);
    this.controls.target.add(shift);
    this.camera.position.add(shift);
    this.half = { x: (far - left) / 2 + 0.35, y: (high - low) / 2 + 0.35 };
  }

  resize() {
    const { clientWidth, clientHeight } = this.host;
    if (!clientWidth || !clientHeight) return;
    this.renderer.setSize(clientWidth, clientHeight, false);
    const aspect = clientWidth / clientHeight;
    const half = this.half ?? { x: 1, y: 1 };
    const high = Math.max(half.y, half.x / aspect);
    Object.assign(this.camera, {
      left: -high * aspect,
      right: high * aspect,
      top: high,
      bottom: -high,
    });
    this.camera.updateProjectionMatrix();
    this.render();
  }

  render() {
    if (this.asked) return;
    this.asked = true;
    requestAnimationFrame(() => {
      this.asked = false;
      this.renderer.render(this.scene, this.camera);
    });
  }
}

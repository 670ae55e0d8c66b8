// A signal that runs: when a tick brings power, beads run along the links of the wires that got it,
// starting from the source. There are none if drawing is slow or the reader prefers less motion.

const WHOLE_MS = 380;
const SLOW_MS = 70; // a frame that takes longer ends the pulse

export class Pulse {
  constructor(THREE, links, place, render) {
    Object.assign(this, { THREE, links, place, render });
    this.still = window.matchMedia("(prefers-reduced-motion: reduce)");
    const colour = new THREE.MeshBasicMaterial();
    this.beads = new THREE.InstancedMesh(new THREE.SphereGeometry(0.12, 10, 8), colour, links.length);
    this.beads.frustumCulled = false;
    this.beads.visible = false;
    this.run = 0;
  }

  /** Runs over the links whose ends both have power now, while one of them had none before. */
  start(valueOf, hadPower, reach) {
    this.run += 1;
    this.beads.visible = false;
    if (this.still.matches || !this.links.length) return;
    const running = [];
    for (const [one, other] of this.links) {
      const [a, b] = [valueOf(one), valueOf(other)];
      if (!a || !b || (hadPower(one) && hadPower(other))) continue;
      const [from, to] = a >= b ? [one, other] : [other, one];
      running.push({ from, to, step: reach - Math.max(a, b) });
    }
    if (!running.length) return;
    const steps = 1 + Math.max(...running.map(({ step }) => step));
    const began = performance.now();
    const { run } = this;
    let before = began;
    const frame = () => {
      const now = performance.now();
      if (run !== this.run) return;
      const share = (now - began) / WHOLE_MS;
      const slow = now - before > SLOW_MS && now !== began;
      before = now;
      this.beads.visible = share < 1 && !slow;
      if (this.beads.visible) {
        this.put(running, share * steps);
        requestAnimationFrame(frame);
      }
      this.render();
    };
    requestAnimationFrame(frame);
  }

  put(running, time) {
    const matrix = new this.THREE.Matrix4();
    let count = 0;
    for (const { from, to, step } of running) {
      const share = time - step;
      if (share < 0 || share > 1) continue;
      const [a, b] = [this.place(from), this.place(to)];
      const at = a.map((value, axis) => value + (b[axis] - value) * share);
      matrix.makeTranslation(at[0], at[1], at[2] - 0.3);
      this.beads.setMatrixAt(count, matrix);
      count += 1;
    }
    this.beads.count = count;
    this.beads.instanceMatrix.needsUpdate = true;
  }
}

// The camera of the model: parallel rays, as in an engineering drawing, so that equal parts look
// equally large. However it is turned, the whole model is in view, as large as it fits.

const VIEWS = {
  corner: [-0.62, -1, 0.72],
  top: [0, -0.001, 1],
  front: [0, -1, 0.12],
  side: [1, -0.02, 0.12],
};
const DEGREE = Math.PI / 180;
const MARGIN_PX = 30; // for names beyond the outline

export class Camera {
  constructor(THREE, OrbitControls, canvas, changed) {
    this.THREE = THREE;
    this.changed = changed;
    this.view3d = new THREE.OrthographicCamera(-1, 1, 1, -1, 0.1, 2000);
    this.view3d.up.set(0, 0, 1);
    this.controls = new OrbitControls(this.view3d, canvas);
    this.controls.enableDamping = false;
    this.controls.enableZoom = false;
    this.size = [1, 1];
    this.outline = [];
    this.fitting = false;
    this.moved = false;
    this.named = "corner";
    this.controls.addEventListener("change", () => {
      if (this.fitting) return;
      // After it was moved sideways, it stays there; after it was turned, it fits itself again.
      if (this.controls.state === 2 || this.controls.state === 5) this.moved = true;
      this.named = "";
      this.fit();
    });
  }

  /** The points that must be in view, and the point that the camera turns about. */
  see(points, middle) {
    this.outline = points;
    this.middle = middle;
    this.fit();
  }

  resize(wide, high) {
    this.size = [wide, high];
    this.fit();
  }

  look(name) {
    this.direction(new this.THREE.Vector3(...VIEWS[name]));
    this.named = name;
    this.whole();
    this.fit();
  }

  /** Back to where everything that must be in view fits. */
  whole() {
    this.moved = false;
    this.view3d.zoom = 1;
  }

  direction(vector) {
    const far = this.distance();
    this.controls.target.copy(this.middle);
    this.view3d.position.copy(this.middle).addScaledVector(vector.normalize(), far);
    this.quietly(() => this.controls.update());
  }

  distance() {
    return 10 + 4 * Math.max(1, ...this.outline.map((point) => point.distanceTo(this.middle)));
  }

  quietly(act) {
    this.fitting = true;
    act();
    this.fitting = false;
  }

  /** Turns by angles in radians. */
  turn(around, down) {
    const { azimuth, tilt } = this.angles();
    this.setAngles(azimuth + around, tilt + down);
    this.named = "";
    this.fit();
  }

  angles() {
    const offset = this.view3d.position.clone().sub(this.controls.target);
    const far = offset.length();
    return { azimuth: Math.atan2(offset.y, offset.x), tilt: Math.acos(offset.z / far) };
  }

  setAngles(azimuth, tilt) {
    const safe = Math.max(0.01, Math.min(Math.PI - 0.01, tilt));
    const way = new this.THREE.Vector3(
      Math.sin(safe) * Math.cos(azimuth),
      Math.sin(safe) * Math.sin(azimuth),
      Math.cos(safe),
    );
    this.direction(way);
  }

  zoom(factor) {
    this.view3d.zoom = Math.max(0.2, Math.min(16, this.view3d.zoom / factor));
    this.named = "";
    this.fit();
  }

  /** Half the width and half the height of the outline in the present view, from its middle. */
  extent() {
    const [right, up, back] = [0, 1, 2].map(() => new this.THREE.Vector3());
    this.view3d.updateMatrixWorld();
    this.view3d.matrixWorld.extractBasis(right, up, back);
    const range = (axis) => {
      const along = this.outline.map((point) => point.dot(axis));
      return [Math.min(...along), Math.max(...along)];
    };
    const [left, far] = range(right);
    const [low, high] = range(up);
    const middle = right.multiplyScalar((left + far) / 2).addScaledVector(up, (low + high) / 2);
    middle.addScaledVector(back, this.middle.dot(back));
    return { middle, x: (far - left) / 2, y: (high - low) / 2 };
  }

  /** Fits the whole outline into the window, centred. */
  fit() {
    if (!this.outline.length) return;
    const [wide, high] = this.size;
    const extent = this.extent();
    if (!this.moved) {
      const shift = extent.middle.sub(this.controls.target);
      this.controls.target.add(shift);
      this.view3d.position.add(shift);
      this.quietly(() => this.controls.update());
    }
    const room = [Math.max(40, wide - 2 * MARGIN_PX), Math.max(40, high - 2 * MARGIN_PX)];
    const unit = Math.max(extent.x / room[0], extent.y / room[1]);
    Object.assign(this.view3d, {
      left: -unit * wide,
      right: unit * wide,
      top: unit * high,
      bottom: -unit * high,
    });
    this.view3d.updateProjectionMatrix();
    this.view3d.updateMatrixWorld();
    this.changed();
  }

  /** Pixels per cell. */
  get scale() {
    return (this.size[0] / (this.view3d.right - this.view3d.left)) * this.view3d.zoom;
  }

  /** Where a point appears, in pixels from the upper left corner. */
  project(point) {
    const seen = point.clone().project(this.view3d);
    return [((seen.x + 1) / 2) * this.size[0], ((1 - seen.y) / 2) * this.size[1]];
  }

  /** The direction towards the eye. */
  get towards() {
    return new this.THREE.Vector3().setFromMatrixColumn(this.view3d.matrixWorld, 2);
  }

  text() {
    if (this.named === "corner") return "";
    const { azimuth, tilt } = this.angles();
    const zoom = Math.round(this.view3d.zoom * 100) / 100;
    return [Math.round(azimuth / DEGREE), Math.round(tilt / DEGREE), zoom].join(",");
  }

  restore(azimuth, tilt, zoom) {
    if (![azimuth, tilt, zoom].every(Number.isFinite)) return;
    this.moved = false;
    this.named = "";
    this.view3d.zoom = Math.max(0.2, Math.min(16, zoom));
    this.setAngles(azimuth * DEGREE, tilt * DEGREE);
    this.fit();
  }
}

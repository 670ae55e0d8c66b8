// Draws all parts of the model in few calls. Parts that look alike share one pattern, with one
// instanced mesh for each of its pieces; the edges of all parts are one set of lines for each tint.
// `shapes` makes the bodies; this module only counts and places them.

const FOOT = -0.5; // height at which uprights between layers begin, from the middle of a cell

export class Crowd {
  constructor(THREE, shapes, cells, links) {
    Object.assign(this, { THREE, shapes, cells });
    this.group = new THREE.Group();
    this.patterns = new Map();
    this.lines = new Map();
    this.seeThrough = false;
    this.apart = 0;
    this.inside = () => true;
    /** The cells that are shown in full; null: all. The others are pale, and without power. */
    this.only = null;
    this.pale = new THREE.MeshLambertMaterial({
      color: "#8fa3bd",
      transparent: true,
      opacity: 0.07,
      depthWrite: false,
    });
    this.moved = true;
    this.members = cells.map((cell, number) => ({
      number,
      at: cell.at,
      part: cell.part,
      body: JSON.stringify({ ...cell, at: 0, title: 0, note: 0 }),
      make: () => shapes.body(cell),
      paint: (body, look) => body.paint?.(look),
      top: cell.at[2],
      stretch: false,
    })).filter(({ part }) => part !== "empty");
    for (const [from, to, both] of links) {
      const [one, other] = [cells[from].at, cells[to].at];
      if (one[2] === other[2] || !shapes.riser) continue;
      const way = other.map((at, axis) => at - one[axis]);
      this.members.push({
        at: one,
        part: "wire",
        body: `riser ${way} ${both}`,
        make: () => shapes.riser([0, 0, 0], way, both),
        paint: (body, look) => body.paintBetween(look.value, look.value),
        ends: [from, to],
        top: other[2],
        stretch: true,
      });
    }
    this.most = new Map();
    for (const { body } of this.members) this.most.set(body, (this.most.get(body) ?? 0) + 1);
  }

  /** Lets go of what only this crowd has drawn with. */
  drop() {
    for (const { meshes } of this.patterns.values()) meshes.forEach(({ mesh }) => mesh.dispose());
    for (const { drawn } of this.lines.values()) drawn.geometry.dispose();
  }

  /** The middle of a cell, with the layers pulled apart. */
  place([x, y, z]) {
    return [x, y, z * (1 + this.apart)];
  }

  /** Shows the layers for which `inside` holds, pulled apart by `apart` cells. */
  arrange(inside, apart) {
    Object.assign(this, { inside, apart, moved: true });
  }

  /** Draws every part in its present state; `valueOf` gives the power of a cell. */
  paint(valueOf) {
    for (const pattern of this.patterns.values()) pattern.now = [];
    for (const member of this.members) {
      if (!this.inside(member.at[2]) || !this.inside(member.top)) continue;
      if (!this.full(member)) {
        this.pattern(member, 0, true).now.push(member);
        continue;
      }
      const value = member.ends
        ? Math.min(...member.ends.map(valueOf)) && Math.max(...member.ends.map(valueOf))
        : valueOf(member.number);
      this.pattern(member, value).now.push(member);
    }
    let edges = this.moved;
    for (const pattern of this.patterns.values()) {
      const { now, before } = pattern;
      const same = now.length === before.length && now.every((one, at) => one === before[at]);
      if (same && !this.moved) continue;
      edges ||= pattern.lines.length > 0;
      this.put(pattern);
      pattern.before = now;
    }
    if (edges) this.drawLines();
    this.moved = false;
  }

  full({ number, ends }) {
    return !this.only || (ends ?? [number]).every((cell) => this.only.has(cell));
  }

  pattern(member, value, pale = false) {
    const key = `${member.body}|${pale ? "pale" : value}`;
    if (!this.patterns.has(key)) this.patterns.set(key, this.makePattern(member, value, pale));
    return this.patterns.get(key);
  }

  makePattern(member, value, pale) {
    const { THREE } = this;
    const body = member.make();
    member.paint(body, { value });
    body.updateMatrixWorld(true);
    const most = this.most.get(member.body);
    const part = pale ? "pale" : member.part;
    const pattern = { meshes: [], lines: [], now: [], before: [], part };
    body.traverseVisible((object) => {
      if (object.isSprite) return;
      const matrix = object.matrixWorld.clone();
      if (object.isMesh) {
        const material = pale ? this.pale : object.material;
        const mesh = new THREE.InstancedMesh(object.geometry, material, most);
        mesh.frustumCulled = false;
        mesh.count = 0;
        mesh.renderOrder = object.renderOrder;
        this.group.add(mesh);
        pattern.meshes.push({ mesh, matrix });
      } else if (object.isLineSegments && !pale) {
        const points = object.geometry.clone().applyMatrix4(matrix).getAttribute("position").array;
        pattern.lines.push({ points, tint: this.tint(object.material) });
      }
    });
    this.veil(pattern);
    return pattern;
  }

  /** The lines that are drawn with one material. */
  tint(material) {
    const key = [material.color.getHexString(), material.opacity, material.transparent].join();
    if (!this.lines.has(key)) {
      const drawn = new this.THREE.LineSegments(new this.THREE.BufferGeometry(), material);
      drawn.frustumCulled = false;
      this.group.add(drawn);
      this.lines.set(key, { drawn, room: new Float32Array(0) });
    }
    return key;
  }

  matrixOf(member) {
    const matrix = new this.THREE.Matrix4().setPosition(...this.place(member.at));
    if (!member.stretch || !this.apart) return matrix;
    const long = new this.THREE.Matrix4().makeScale(1, 1, 1 + this.apart);
    const foot = new this.THREE.Matrix4().makeTranslation(0, 0, FOOT);
    const from = new this.THREE.Matrix4().makeTranslation(0, 0, -FOOT);
    return matrix.multiply(foot).multiply(long).multiply(from);
  }

  put(pattern) {
    const places = pattern.now.map((member) => this.matrixOf(member));
    const matrix = new this.THREE.Matrix4();
    for (const { mesh, matrix: own } of pattern.meshes) {
      mesh.count = places.length;
      mesh.visible = places.length > 0;
      places.forEach((place, at) => mesh.setMatrixAt(at, matrix.multiplyMatrices(place, own)));
      mesh.instanceMatrix.needsUpdate = true;
    }
  }

  drawLines() {
    const lengths = new Map();
    for (const { lines, now } of this.patterns.values()) {
      for (const { points, tint } of lines) {
        lengths.set(tint, (lengths.get(tint) ?? 0) + points.length * now.length);
      }
    }
    for (const [tint, line] of this.lines) {
      const length = lengths.get(tint) ?? 0;
      if (line.room.length < length) {
        line.room = new Float32Array(length);
        line.drawn.geometry.dispose();
        line.drawn.geometry = new this.THREE.BufferGeometry();
        const places = new this.THREE.BufferAttribute(line.room, 3);
        line.drawn.geometry.setAttribute("position", places);
      }
      line.filled = 0;
    }
    for (const { lines, now } of this.patterns.values()) {
      for (const { points, tint } of lines) {
        const line = this.lines.get(tint);
        for (const member of now) {
          const [x, y, z] = this.place(member.at);
          for (let at = 0; at < points.length; at += 3) {
            line.room[line.filled + at] = points[at] + x;
            line.room[line.filled + at + 1] = points[at + 1] + y;
            line.room[line.filled + at + 2] = points[at + 2] + z;
          }
          line.filled += points.length;
        }
      }
    }
    for (const { drawn, filled } of this.lines.values()) {
      drawn.geometry.setDrawRange(0, filled / 3);
      const places = drawn.geometry.getAttribute("position");
      if (places) places.needsUpdate = true;
    }
  }

  /** Makes solids see-through, so that parts behind them are visible. */
  veilAll(on) {
    this.seeThrough = on;
    for (const pattern of this.patterns.values()) this.veil(pattern);
  }

  veil(pattern) {
    if (pattern.part !== "solid") return;
    for (const { mesh } of pattern.meshes) {
      Object.assign(mesh.material, {
        transparent: this.seeThrough,
        opacity: this.seeThrough ? 0.14 : 1,
        depthWrite: !this.seeThrough,
        needsUpdate: true,
      });
    }
  }

  /** Pale copies of all parts, moved by each of `shifts`. */
  copies(material, shifts) {
    const { THREE } = this;
    const group = new THREE.Group();
    const byBody = Map.groupBy(this.members, ({ body }) => body);
    for (const members of byBody.values()) {
      const { meshes } = this.pattern(members[0], 0);
      const shown = members.filter(({ at, top }) => this.inside(at[2]) && this.inside(top));
      for (const { mesh, matrix: own } of meshes) {
        const pale = new THREE.InstancedMesh(mesh.geometry, material, shown.length * shifts.length);
        pale.frustumCulled = false;
        let at = 0;
        for (const shift of shifts) {
          for (const member of shown) {
            const place = new THREE.Matrix4().makeTranslation(...shift);
            pale.setMatrixAt(at, place.multiply(this.matrixOf(member)).multiply(own));
            at += 1;
          }
        }
        group.add(pale);
      }
    }
    return group;
  }
}

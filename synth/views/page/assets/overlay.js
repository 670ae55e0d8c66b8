// Words on the model, drawn flat above it: names of pins and pieces, strengths, signs of faults,
// and the axes.
// No two of them touch, and none is cut. A label without room moves away and keeps a line to its
// place; a strength without room is left out.

const FONT = 'ui-sans-serif, system-ui, "Segoe UI", sans-serif';
const LEAST_SCALE = 24; // below this many pixels per cell, strengths are left out
const AXIS = 34;

export class Overlay {
  constructor(host) {
    this.canvas = document.createElement("canvas");
    this.canvas.className = "overlay";
    host.append(this.canvas);
    this.context = this.canvas.getContext("2d");
    this.colours = {};
  }

  resize(wide, high) {
    const sharp = Math.min(2, window.devicePixelRatio || 1);
    Object.assign(this.canvas, { width: wide * sharp, height: high * sharp });
    this.context.setTransform(sharp, 0, 0, sharp, 0, 0);
    this.size = [wide, high];
  }

  /** Draws words at points; `camera` says where these appear. */
  draw(camera, words) {
    const { context } = this;
    const [wide, high] = this.size;
    context.clearRect(0, 0, wide, high);
    this.taken = [];
    this.axes(camera);
    for (const word of words.filter(({ kind }) => kind === "pin")) this.pin(camera, word);
    for (const word of words.filter(({ kind }) => kind === "fault")) this.fault(camera, word);
    for (const word of words.filter(({ kind }) => kind === "piece")) this.piece(camera, word);
    if (camera.scale < LEAST_SCALE) return;
    for (const word of words.filter(({ kind }) => kind === "strength")) this.number(camera, word);
  }

  /** The directions of x, y and z, in the lower left corner. */
  axes(camera) {
    const { context } = this;
    const origin = [AXIS + 18, this.size[1] - AXIS - 18];
    const { elements } = camera.view3d.matrixWorldInverse;
    const ways = ["x", "y", "z"].map((name, axis) => {
      return { name, x: elements[4 * axis], y: -elements[4 * axis + 1], depth: elements[4 * axis + 2] };
    });
    context.lineWidth = 2;
    for (const { name, x, y } of ways.sort((one, other) => one.depth - other.depth)) {
      const long = Math.hypot(x, y);
      const tip = [origin[0] + x * AXIS, origin[1] + y * AXIS];
      context.strokeStyle = context.fillStyle = this.colours.soft;
      if (long > 0.15) {
        const [dx, dy] = [x / long, y / long];
        context.beginPath();
        context.moveTo(...origin);
        context.lineTo(tip[0] - dx * 5, tip[1] - dy * 5);
        context.stroke();
        context.beginPath();
        context.moveTo(...tip);
        context.lineTo(tip[0] - dx * 8 - dy * 4, tip[1] - dy * 8 + dx * 4);
        context.lineTo(tip[0] - dx * 8 + dy * 4, tip[1] - dy * 8 - dx * 4);
        context.fill();
        this.text(name, tip[0] + dx * 9, tip[1] + dy * 9, "700 13px");
      }
    }
    this.taken.push([origin[0] - AXIS - 16, origin[1] - AXIS - 16, 2 * AXIS + 32, 2 * AXIS + 32]);
  }

  text(words, x, y, font, fill = this.colours.ink) {
    const { context } = this;
    context.font = `${font} ${FONT}`;
    context.textAlign = "center";
    context.textBaseline = "middle";
    context.fillStyle = fill;
    context.fillText(words, x, y);
  }

  free([x, y, wide, high]) {
    if (x < 2 || y < 2 || x + wide > this.size[0] - 2 || y + high > this.size[1] - 2) return false;
    return !this.taken.some(
      ([left, top, w, h]) => x < left + w && left < x + wide && y < top + h && top < y + high,
    );
  }

  /** The first free box near a point: at the point itself, or further and further away. */
  room([x, y], [wide, high], [dx, dy]) {
    const first = Math.atan2(dy, dx);
    for (let ring = 0; ring < 9; ring += 1) {
      for (const turn of [0, 0.5, -0.5, 1, -1, 1.6, -1.6, 2.3, -2.3, Math.PI]) {
        const far = ring * 12;
        const at = [
          x + Math.cos(first + turn) * (wide / 2 + far) - wide / 2,
          y + Math.sin(first + turn) * (high / 2 + far) - high / 2,
        ];
        const box = [...at, wide, high];
        if (this.free(box)) return box;
      }
    }
    return this.anywhere([x, y], [wide, high]);
  }

  /** The free box nearest to a point, anywhere on the canvas. */
  anywhere([x, y], [wide, high]) {
    let best = null;
    for (let left = 2; left + wide <= this.size[0] - 2; left += 8) {
      for (let top = 2; top + high <= this.size[1] - 2; top += 6) {
        const far = Math.hypot(left + wide / 2 - x, top + high / 2 - y);
        const box = [left, top, wide, high];
        if ((!best || far < best.far) && this.free(box)) best = { far, box };
      }
    }
    return best?.box ?? null;
  }

  pin(camera, { text, at, out }) {
    const { context } = this;
    context.font = `700 13px ${FONT}`;
    const wide = Math.ceil(context.measureText(text).width) + 12;
    const from = camera.project(at);
    const to = camera.project(out);
    const way = [to[0] - from[0], to[1] - from[1]];
    const room = this.room(to, [wide + 4, 24], Math.hypot(...way) > 1 ? way : [0, -1]);
    if (!room) return;
    this.taken.push(room);
    const box = [room[0] + 2, room[1] + 2, wide, 20];
    const middle = [box[0] + wide / 2, box[1] + 10];
    if (Math.hypot(middle[0] - to[0], middle[1] - to[1]) > wide / 2 + 14) {
      context.strokeStyle = this.colours.blue;
      context.lineWidth = 1.5;
      context.beginPath();
      context.moveTo(...to);
      context.lineTo(...middle);
      context.stroke();
    }
    context.fillStyle = this.colours.blue;
    context.beginPath();
    context.roundRect(...box, 4);
    context.fill();
    this.text(text, middle[0], middle[1] + 1, "700 13px", this.colours.sheet);
  }

  fault(camera, { at }) {
    const { context } = this;
    const [x, y] = camera.project(at);
    const box = this.room([x, y], [20, 20], [0, -1]);
    if (!box) return;
    this.taken.push(box);
    context.fillStyle = this.colours.fault;
    context.beginPath();
    context.moveTo(box[0] + 10, box[1]);
    context.lineTo(box[0] + 20, box[1] + 19);
    context.lineTo(box[0], box[1] + 19);
    context.fill();
    this.text("!", box[0] + 10, box[1] + 13, "800 13px", this.colours.sheet);
  }

  number(camera, { text, at }) {
    this.plate(camera.project(at), text, this.colours.ink);
  }

  /** The name of a piece; without room it is left out. */
  piece(camera, { text, at }) {
    this.plate(camera.project(at), text, this.colours.blue);
  }

  plate([x, y], text, edge) {
    const { context } = this;
    context.font = `600 12px ${FONT}`;
    const wide = Math.ceil(context.measureText(text).width) + 8;
    const box = [x - wide / 2, y - 9, wide, 17];
    if (!this.free(box)) return;
    this.taken.push(box);
    context.fillStyle = this.colours.sheet;
    context.strokeStyle = edge;
    context.lineWidth = 1;
    context.beginPath();
    context.roundRect(...box, 4);
    context.fill();
    context.stroke();
    this.text(text, x, y, "600 12px");
  }
}

// From the plan (metres, east and north) to the screen (pixels, down) and back.

const LEAST = 0.05; // [px/m]
const MOST = 400; // [px/m]

/** Where the plan lies on a sheet of some size: its middle, its scale and its turn. */
export class Plane {
  constructor() {
    Object.assign(this, {x: 0, y: 0, scale: 1, turn: 0, width: 1, height: 1});
    this.#set();
  }

  #set() {
    this.cos = Math.cos(this.turn);
    this.sin = Math.sin(this.turn);
  }

  /** Show all of these points; turned by a quarter where the sheet is the other way round and `mayTurn`. */
  fit(points, {width, height, pad = 40, mayTurn = false}) {
    Object.assign(this, {width, height});
    const [east, north] = [points.map((p) => p[0]), points.map((p) => p[1])];
    const [left, right, low, high] = [Math.min(...east), Math.max(...east), Math.min(...north), Math.max(...north)];
    const [w, h] = [Math.max(right - left, 1), Math.max(high - low, 1)];
    const room = [Math.max(width - 2 * pad, 16), Math.max(height - 2 * pad, 16)];
    const straight = Math.min(room[0] / w, room[1] / h);
    const turned = Math.min(room[0] / h, room[1] / w);
    this.turn = mayTurn && turned > 1.25 * straight ? Math.PI / 2 : 0;
    this.scale = this.turn ? turned : straight;
    this.whole = this.scale;
    this.x = (left + right) / 2;
    this.y = (low + high) / 2;
    this.#set();
  }

  get isWhole() {
    return this.scale <= this.whole * 1.001;
  }

  /** Pixels of a point of the plan. */
  at(x, y) {
    const [dx, dy] = [x - this.x, y - this.y];
    return [this.width / 2 + this.scale * (this.cos * dx - this.sin * dy), this.height / 2 - this.scale * (this.sin * dx + this.cos * dy)];
  }

  /** Metres of a step in pixels. */
  step(dx, dy) {
    const [right, up] = [dx / this.scale, -dy / this.scale];
    return [this.cos * right + this.sin * up, -this.sin * right + this.cos * up];
  }

  /** The point of the plan under a place on the screen. */
  plan(px, py) {
    const [dx, dy] = this.step(px - this.width / 2, py - this.height / 2);
    return [this.x + dx, this.y + dy];
  }

  /** Larger around a place that stays where it is. */
  zoom(factor, {x, y}) {
    const scale = Math.min(Math.max(this.scale * factor, Math.max(this.whole / 3, LEAST)), MOST);
    const before = this.plan(x, y);
    this.scale = scale;
    const after = this.plan(x, y);
    this.x += before[0] - after[0];
    this.y += before[1] - after[1];
  }

  pan(dx, dy) {
    const [x, y] = this.step(dx, dy);
    this.x -= x;
    this.y -= y;
  }

  /** As an SVG transform of a group that is drawn in metres. */
  get matrix() {
    const [a, b] = [this.scale * this.cos, this.scale * this.sin];
    const e = this.width / 2 - a * this.x + b * this.y;
    const f = this.height / 2 + b * this.x + a * this.y;
    return `matrix(${a} ${-b} ${-b} ${-a} ${e} ${f})`;
  }

  /** Direction on the screen of a heading in the plan, clockwise from right. [deg] */
  angle(heading) {
    return (-(heading + this.turn) * 180) / Math.PI;
  }
}

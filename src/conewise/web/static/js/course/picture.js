// A photo or plan of the lot under the course, laid by two known points; kept by this browser for each course.

import {drawn} from "../dom.js";

const STORE = "conewise-pictures";

/** The motion that takes two points of a picture (pixels, down) to two points of the plan (metres, up). */
export function laidBy([a, b], [p, q]) {
  const [dx, dy] = [b[0] - a[0], -(b[1] - a[1])];
  const [ex, ey] = [q[0] - p[0], q[1] - p[1]];
  const size = dx * dx + dy * dy;
  if (size < 1 || ex * ex + ey * ey < 1e-6) return null;
  const [c, s] = [(dx * ex + dy * ey) / size, (dx * ey - dy * ex) / size];
  return {c, s, x: p[0] - (c * a[0] + s * a[1]), y: p[1] - (s * a[0] - c * a[1])};
}

/** A point of the picture on the plan. */
export function onPlan({c, s, x, y}, [px, py]) {
  return [c * px + s * py + x, s * px - c * py + y];
}

/** A point of the plan on the picture. */
export function onPicture({c, s, x, y}, [east, north]) {
  const size = c * c + s * s;
  const [dx, dy] = [east - x, north - y];
  return [(c * dx + s * dy) / size, (s * dx - c * dy) / size];
}

/** Width of a pixel on the plan, and how the picture is turned. [m], [deg] */
export function scaleOf({c, s}) {
  return {metres: Math.hypot(c, s), degrees: (Math.atan2(s, c) * 180) / Math.PI};
}

/** The picture below a map: its file, its size, where it lies, its two points. */
export class Picture {
  constructor(map) {
    this.map = map;
    this.image = drawn("image", {class: "picture", preserveAspectRatio: "none"});
    this.kept = null;
  }

  /** Lay a file so that it covers the course; later its two points say where it truly lies. */
  async take(blob, key, points) {
    const bitmap = await createImageBitmap(blob);
    const {width, height} = bitmap;
    bitmap.close();
    const [east, north] = [points.map((p) => p[0]), points.map((p) => p[1])];
    const scale = Math.max((Math.max(...east) - Math.min(...east)) / width, (Math.max(...north) - Math.min(...north)) / height, 0.01);
    const middle = [(Math.max(...east) + Math.min(...east)) / 2, (Math.max(...north) + Math.min(...north)) / 2];
    const motion = {c: scale, s: 0, x: middle[0] - (scale * width) / 2, y: middle[1] + (scale * height) / 2};
    this.show({key, blob, width, height, motion, points: [[width * 0.25, height * 0.5], [width * 0.75, height * 0.5]]});
    await this.keep();
  }

  show(kept) {
    this.kept = kept;
    if (this.address) URL.revokeObjectURL(this.address);
    this.address = URL.createObjectURL(kept.blob);
    this.image.setAttribute("href", this.address);
    this.image.setAttribute("width", kept.width);
    this.image.setAttribute("height", kept.height);
    this.place();
    this.map.behind.replaceChildren(this.image);
  }

  place() {
    const {c, s, x, y} = this.kept.motion;
    this.image.setAttribute("transform", `matrix(${c} ${s} ${s} ${-c} ${x} ${y})`);
  }

  /** Where the two points lie on the plan. */
  get spots() {
    return this.kept ? this.kept.points.map((point) => onPlan(this.kept.motion, point)) : [];
  }

  /** Put a point of the picture at another place of the picture: the picture stays. */
  mark(index, spot) {
    this.kept.points[index] = onPicture(this.kept.motion, spot);
  }

  /** Say where both points lie on the plan: the picture moves. */
  lay(spots) {
    const motion = laidBy(this.kept.points, spots);
    if (!motion) return false;
    this.kept.motion = motion;
    this.place();
    return true;
  }

  async keep() {
    await stored("readwrite", (store) => store.put(this.kept));
  }

  async find(key) {
    const kept = await stored("readonly", (store) => store.get(key));
    if (kept) this.show(kept);
    return Boolean(kept);
  }

  async remove() {
    await stored("readwrite", (store) => store.delete(this.kept.key));
    this.kept = null;
    this.map.behind.replaceChildren();
  }
}

function stored(mode, act) {
  return new Promise((done, failed) => {
    const opening = indexedDB.open(STORE, 1);
    opening.onupgradeneeded = () => opening.result.createObjectStore("pictures", {keyPath: "key"});
    opening.onerror = () => failed(opening.error);
    opening.onsuccess = () => {
      const asked = act(opening.result.transaction("pictures", mode).objectStore("pictures"));
      asked.onsuccess = () => { opening.result.close(); done(asked.result); };
      asked.onerror = () => failed(asked.error);
    };
  });
}

// The driven line coloured by speed, its foot with the colours' meaning, and places along it.

import {cividis, stepOf} from "../chart/cividis.js";
import {nearestIndex, shown} from "../chart/numbers.js";
import {drawn, element} from "../dom.js";

const STEPS = 24;

/** A run's line: s, t, x, y, v (lists of one length, metres, seconds, metres per second). */
export class SpeedLine {
  constructor({s, t, x, y, v}, range = null) {
    Object.assign(this, {s, t, x, y, v});
    this.range = range ?? [Math.min(...v), Math.max(...v)];
  }

  get length() {
    return this.s.at(-1);
  }

  share(speed) {
    return (speed - this.range[0]) / (this.range[1] - this.range[0] || 1);
  }

  /** Paths in metres, one for every stretch of one colour, over a casing that keeps light colours visible. */
  paths() {
    const points = this.x.map((x, i) => `${x} ${this.y[i]}`);
    const parts = [drawn("path", {class: "casing", d: `M${points.join("L")}`})];
    let start = 0;
    for (let i = 1; i < points.length; i += 1) {
      const step = stepOf(this.share((this.v[i] + this.v[i - 1]) / 2), STEPS);
      const next = i + 1 < points.length ? stepOf(this.share((this.v[i + 1] + this.v[i]) / 2), STEPS) : -1;
      if (next === step) continue;
      parts.push(drawn("path", {class: "run", stroke: cividis((step + 0.5) / STEPS), d: `M${points.slice(start, i + 1).join("L")}`}));
      start = i;
    }
    return parts;
  }

  /** Place, heading, time and speed at a station, between the points. */
  at(s) {
    const near = nearestIndex(this.s, s);
    const low = this.s[near] > s ? Math.max(near - 1, 0) : Math.min(near, this.s.length - 2);
    const high = Math.min(low + 1, this.s.length - 1);
    const part = Math.min(Math.max((s - this.s[low]) / (this.s[high] - this.s[low] || 1), 0), 1);
    const mix = (list) => list[low] + part * (list[high] - list[low]);
    return {x: mix(this.x), y: mix(this.y), t: mix(this.t), v: mix(this.v), heading: Math.atan2(this.y[high] - this.y[low], this.x[high] - this.x[low])};
  }

  /** Station at a time since the start. */
  stationAt(t) {
    const near = nearestIndex(this.t, t);
    const low = this.t[near] > t ? Math.max(near - 1, 0) : Math.min(near, this.t.length - 2);
    const part = (t - this.t[low]) / (this.t[low + 1] - this.t[low] || 1);
    return this.s[low] + Math.min(Math.max(part, 0), 1) * (this.s[low + 1] - this.s[low]);
  }

  /** Station of the point nearest to a place of the plan, with its distance. [m] */
  nearest(x, y) {
    let best = 0;
    let smallest = Infinity;
    for (let i = 0; i < this.x.length; i += 1) {
      const away = (this.x[i] - x) ** 2 + (this.y[i] - y) ** 2;
      if (away < smallest) [best, smallest] = [i, away];
    }
    return {s: this.s[best], away: Math.sqrt(smallest)};
  }
}

/** The colours of a range of speeds with its ends in numbers. `factor`: shown speed per m/s. */
export function speedKey([low, high], {quantity, unit, factor}) {
  const bar = drawn("svg", {class: "speed-bar", viewBox: "0 0 24 1", preserveAspectRatio: "none", "aria-hidden": "true"});
  for (let i = 0; i < STEPS; i += 1) bar.append(drawn("rect", {x: i, y: 0, width: 1.05, height: 1, fill: cividis((i + 0.5) / STEPS)}));
  return element("p", {class: "speed-key"}, `${quantity} [${unit}] `, element("span", {}, shown(low * factor, 0)), bar, element("span", {}, shown(high * factor, 0)));
}

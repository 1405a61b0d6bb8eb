// A solved run as the page shows it: lists along the course from the start beam, and places on them.

import {nearestIndex} from "../chart/numbers.js";
import {SpeedLine} from "../course/speed_line.js";

const G = 9.80665; // standard acceleration of free fall [m/s2]: 3rd CGPM, 1901

/** The lists of an answer's stations, stations counted from the start beam. */
export class Run {
  constructor(answer, {name, speed}) {
    const {stations} = answer;
    const start = stations.s_m[0];
    Object.assign(this, {answer, name});
    this.s = stations.s_m.map((s) => s - start);
    this.t = stations.t_s;
    this.speed = stations.speed_m_s.map((v) => v * speed.factor);
    this.ax = stations.ax_m_s2.map((a) => a / G);
    this.ay = stations.ay_m_s2.map((a) => a / G);
    this.gear = stations.gear;
    this.command = stations.command?.map((share) => 100 * share) ?? null;
    this.front = stations.friction_use_front?.map((share) => 100 * share) ?? null;
    this.rear = stations.friction_use_rear?.map((share) => 100 * share) ?? null;
    this.line = new SpeedLine({s: this.s, t: this.t, x: stations.x_m, y: stations.y_m, v: stations.speed_m_s});
    this.features = answer.features.map((feature, i) => ({number: i + 1, id: feature.id, from: feature.entry.s_m - start, to: feature.exit.s_m - start}));
  }

  get length() {
    return this.s.at(-1);
  }

  featureAt(s) {
    return this.features.findLast((feature) => feature.from <= s + 1e-6) ?? this.features[0];
  }

  /** What the car does at a station. */
  at(s) {
    const i = nearestIndex(this.s, s);
    return {s: this.s[i], t: this.t[i], speed: this.speed[i], gear: this.gear[i], command: this.command?.[i] ?? null};
  }
}

/** By how much a second run is later than a first along the first's stations. [s] */
export function later(first, second) {
  const scale = second.length / first.length;
  return first.s.map((s, i) => second.line.at(s * scale).t - first.t[i]);
}

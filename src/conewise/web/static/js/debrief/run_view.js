// One cursor over the map and the charts of an answer.
import {Along} from "../chart/along.js";
import {nearestIndex} from "../chart/numbers.js";
import {TraceChart} from "../chart/trace.js";
import {drawn} from "../dom.js";
import {number, text} from "../text.js";

const NEAR_LINE = 40; // within which the cursor takes to the line [px]
const REACH = 22; // within which a cone is found, so that targets are 44 px [px]

/** Show the lines of an answer; `focus` is the id of the feature to work on. */
export function showRun(lines, focus, {traces, here, cone}) {
  const along = new Along(0, lines.s.at(-1));
  const place = lines.features.filter((one) => one.id === focus).map((one) => ({from: one.from, to: one.to, name: text("debrief.chart.place"), isPlace: true}));
  const words = Object.fromEntries(["numbers", "lowest", "highest", "at"].map((key) => [key, text(`debrief.chart.${key}`)]));
  const x = {quantity: text("debrief.chart.distance"), unit: lines.length_unit, digits: 0};
  const chart = (y, series) => new TraceChart(traces, {along, x, y, series: series.map(([name, values]) => ({name, x: lines.s, y: values})), bands: place, words});
  chart({quantity: text("debrief.chart.speed"), unit: lines.speed_unit, digits: 1, hasFloor: true}, lines.speed);
  chart({quantity: text("debrief.chart.later"), unit: "s", digits: 2}, lines.later);
  const maps = [...document.querySelectorAll("svg.map[data-matrix]")].map((svg) => new MapCursor(svg, lines, {go: (i) => along.point(lines.s[i]), cone}));
  along.addEventListener("cursor", () => {
    const i = nearestIndex(lines.s, along.at);
    for (const map of maps) map.put(i);
    const feature = lines.features.findLast((one) => one.from <= lines.s[i]) ?? lines.features[0];
    here.textContent = [feature?.name, `${number(lines.s[i])} ${lines.length_unit}`, `${number(lines.speed[0][1][i], 1)} ${lines.speed_unit}`].filter(Boolean).join(", ");
  });
  along.point(place[0]?.from ?? 0);
}

class MapCursor {
  constructor(svg, lines, {go, cone}) {
    Object.assign(this, {svg, lines, cone, m: svg.dataset.matrix.split(" ").map(Number)});
    this.beside = drawn("circle", {class: "beside"});
    this.here = drawn("circle", {class: "here"});
    svg.append(this.beside, this.here);
    this.points = lines.x.map((x, i) => this.#onSheet(x, lines.y[i]));
    this.cones = [...svg.querySelectorAll(".cone")];
    for (const one of this.cones) one.addEventListener("focus", () => this.#choose(one));
    for (const kind of ["pointermove", "pointerdown"]) svg.addEventListener(kind, (event) => this.#point(event, go));
  }

  #onSheet(x, y) {
    const {m} = this;
    return [m[0] * x + m[1] * y + m[2], m[3] * x + m[4] * y + m[5]];
  }

  put(i) {
    const {x, y} = this.lines.beside;
    const pixel = this.svg.viewBox.baseVal.width / (this.svg.getBoundingClientRect().width || this.svg.viewBox.baseVal.width);
    for (const [dot, [cx, cy], r] of [[this.here, this.points[i], 7], [this.beside, this.#onSheet(x[i], y[i]), 6]]) {
      for (const [key, value] of Object.entries({cx, cy, r: r * pixel})) dot.setAttribute(key, value.toFixed(1));
    }
  }

  #point(event, go) {
    const box = this.svg.getBoundingClientRect();
    const scale = this.svg.viewBox.baseVal.width / box.width;
    const [x, y] = [(event.clientX - box.left) * scale, (event.clientY - box.top) * scale + this.svg.viewBox.baseVal.y];
    const near = (places, reach) => {
      const away = places.map(([px, py]) => Math.hypot(px - x, py - y));
      const least = Math.min(...away);
      return least < reach * scale ? away.indexOf(least) : -1;
    };
    const i = near(this.points, NEAR_LINE);
    if (i >= 0) go(i);
    const k = near(this.cones.map((one) => [Number(one.dataset.x), Number(one.dataset.y)]), REACH);
    if (k >= 0) this.#choose(this.cones[k]);
  }

  #choose(one) {
    for (const other of document.querySelectorAll(".map .cone.chosen")) other.classList.remove("chosen");
    one.classList.add("chosen");
    this.cone.textContent = one.getAttribute("aria-label");
  }
}

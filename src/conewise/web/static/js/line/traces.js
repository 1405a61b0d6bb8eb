// The charts of one run or of two: one axis, one cursor.

import {TraceChart} from "../chart/trace.js";
import {text} from "../text.js";
import {lengthUnit, speedUnit} from "../units.js";
import {later} from "./run.js";

/** Charts in `place` on the axis `along`; `show(runs, axis)` with one or two runs, axis "s" or "t". */
export class Traces {
  constructor(place, along) {
    Object.assign(this, {place, along, charts: []});
    this.words = Object.fromEntries(["numbers", "lowest", "highest", "at"].map((key) => [key, text(`line.${key}`)]));
  }

  show(runs, axis) {
    for (const chart of this.charts) chart.remove();
    const [first] = runs;
    const length = lengthUnit();
    const scale = axis === "s" ? length.factor : 1;
    const x = axis === "s" ? {quantity: text("line.distance"), unit: length.unit, digits: 0} : {quantity: text("line.time"), unit: "s", digits: 2};
    const along = (run) => run[axis].map((value) => value * scale);
    this.along.extent(0, along(first).at(-1));
    const edge = (s) => (axis === "s" ? s * scale : first.line.at(s).t);
    const bands = first.features.map((feature) => ({from: edge(feature.from), to: edge(feature.to), name: feature.id}));
    const isTwo = runs.length > 1;
    const series = (key, label = "") => runs.filter((run) => run[key]).map((run) => ({name: [isTwo ? run.name : "", label].filter(Boolean).join(" "), x: along(run), y: run[key], isStepped: key === "gear"}));
    const speed = speedUnit();
    const wanted = [
      [{quantity: text("line.speed"), unit: speed.unit, digits: speed.digits, hasFloor: true}, series("speed")],
      ...(isTwo && axis === "s" ? [[{quantity: text("line.later"), unit: "s", digits: 2}, [{name: "", x: along(first), y: later(first, runs[1])}]]] : []),
      [{quantity: text("line.ax"), unit: "g", digits: 2}, series("ax")],
      [{quantity: text("line.ay"), unit: "g", digits: 2}, series("ay")],
      [{quantity: text("line.use"), unit: text("line.percent"), digits: 0, hasFloor: true}, [...series("front", text("line.front")), ...series("rear", text("line.rear"))]],
      [{quantity: text("line.gear"), unit: text("line.number"), digits: 0, isWhole: true, hasFloor: true}, series("gear")],
      [{quantity: text("line.command"), unit: text("line.percent"), digits: 0}, series("command")],
    ].filter(([, lines]) => lines.length);
    this.charts = wanted.map(([y, lines], i) => new TraceChart(this.place, {along: this.along, x, y, series: lines, bands, showsLevel: i === 0 || i === wanted.length - 1, words: this.words}));
  }
}

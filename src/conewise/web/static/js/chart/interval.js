// Estimates with their intervals, one a row on a common scale: rows of a table, so that the numbers stand beside.

import {element} from "../dom.js";
import {Scale, withRoom} from "./axes.js";
import {niceTicks, rangeOf, shown} from "./numbers.js";
import {axisName} from "./parts.js";
import {Sheet} from "./sheet.js";

const PAD = 12; // at either end of the scale [px]

/**
 * A table of intervals.
 *
 * `value`: {quantity, unit, digits}. `rows`: [{name, estimate, low, high, note, isRough}]; `isRough` rows are drawn
 * open. `name` heads the first column, `betterEnd` ("low", "high" or null) and `words` {better, worse} the ends.
 */
export class IntervalChart {
  constructor(place, {value, rows, name, words = {}}) {
    Object.assign(this, {value, name, words});
    this.body = element("tbody");
    this.scalePlace = element("div", {class: "interval-scale"});
    const ends = words.low || words.high ? element("span", {class: "interval-ends"}, element("span", {}, words.low ?? ""), element("span", {}, words.high ?? "")) : null;
    this.table = element("table", {class: "intervals"},
      element("thead", {}, element("tr", {}, element("th", {scope: "col"}, name), element("th", {scope: "col", "data-axis": "x"}, axisName(value), ends), element("th", {scope: "col", class: "interval-number"}, axisName({quantity: words.number ?? value.quantity, unit: value.unit})))),
      this.body,
      element("tfoot", {"aria-hidden": "true"}, element("tr", {}, element("td"), element("td", {}, this.scalePlace), element("td"))));
    place.append(this.table);
    this.sheets = new Map();
    this.foot = new Sheet(this.scalePlace, (context, room) => this.#scale(context, room));
    this.show(rows);
  }

  /** Other rows, or the same ones sharpened. A row that is there already by its name stays where the focus is. */
  show(rows) {
    const range = rangeOf(rows.flatMap((row) => [[row.low, row.high, row.estimate, 0]])) ?? [-1, 1];
    this.ticks = niceTicks(range[0], range[1], 4);
    const kept = new Map();
    const lines = rows.map((row) => {
      const old = this.sheets.get(row.name) ?? this.#row(row.name);
      old.row = row;
      old.heading.replaceChildren(row.name, ...(row.note ? [element("span", {class: "note"}, row.note)] : []));
      const {digits = 2} = this.value;
      old.number.replaceChildren(element("b", {}, shown(row.estimate, digits)), " ", element("span", {}, `${shown(row.low, digits)} … ${shown(row.high, digits)}`));
      old.sheet.redraw();
      kept.set(row.name, old);
      return old.line;
    });
    for (const [key, old] of this.sheets) if (!kept.has(key)) old.sheet.remove();
    this.sheets = kept;
    if (lines.some((line, i) => this.body.children[i] !== line) || this.body.children.length !== lines.length) this.body.replaceChildren(...lines);
    this.foot.redraw();
  }

  #row(name) {
    const heading = element("th", {scope: "row"}, name);
    const bar = element("div", {class: "interval-bar"});
    const number = element("td", {class: "interval-number"});
    const made = {heading, number, line: element("tr", {}, heading, element("td", {}, bar), number), row: null};
    made.sheet = new Sheet(bar, (context, room) => this.#bar(context, room, made.row));
    return made;
  }

  #x(width) {
    return new Scale(this.ticks[0], this.ticks.at(-1), PAD, width - PAD);
  }

  #bar(context, {width, height, ink: now}, row) {
    const x = this.#x(width);
    const middle = Math.round(height / 2);
    const zero = Math.round(x.at(0)) + 0.5;
    context.lineWidth = 1;
    context.strokeStyle = now.quiet;
    context.beginPath();
    context.moveTo(zero, 0);
    context.lineTo(zero, height);
    context.stroke();
    if (!Number.isFinite(row.estimate)) return;
    context.strokeStyle = now.ink;
    context.lineWidth = Math.max(now.line, 2);
    context.beginPath();
    context.moveTo(x.at(row.low), middle);
    context.lineTo(x.at(row.high), middle);
    for (const end of [row.low, row.high]) {
      context.moveTo(x.at(end), middle - 5);
      context.lineTo(x.at(end), middle + 5);
    }
    context.stroke();
    context.beginPath();
    context.arc(x.at(row.estimate), middle, 5, 0, 2 * Math.PI);
    context.fillStyle = row.isRough ? now.paper : now.ink;
    context.fill();
    context.stroke();
  }

  #scale(context, {width, ink: now}) {
    const x = this.#x(width);
    context.font = now.font;
    context.textAlign = "center";
    context.textBaseline = "top";
    context.fillStyle = now.quiet;
    context.strokeStyle = now.quiet;
    for (const {text, middle} of withRoom(context, this.ticks, x, [0, width])) context.fillText(text, middle, 8);
    context.beginPath();
    for (const tick of this.ticks) {
      context.moveTo(Math.round(x.at(tick)) + 0.5, 0);
      context.lineTo(Math.round(x.at(tick)) + 0.5, 6);
    }
    context.stroke();
  }
}

// Quantities along the course or in time: a plot with a linked cursor, zoom by wheel, fingers and keys, and its numbers.

import {element} from "../dom.js";
import {drawLevel, drawUpright, numbersHeight, numbersWidth, Scale, valueAxis} from "./axes.js";
import {decimated} from "./decimate.js";
import {listen} from "./gestures.js";
import {ink} from "./ink.js";
import {steer} from "./keys.js";
import {nearestIndex, rangeOf, shown} from "./numbers.js";
import {axisName, numbersTable} from "./parts.js";
import {Sheet} from "./sheet.js";

const DASHES = [[], [1.5, 3], [6, 3], [10, 3, 2, 3]];
const COLOURS = ["ink", "faster", "signal", "quiet"];
const ROWS = 24; // of the table
const WORDS = {numbers: "Numbers", lowest: "lowest", highest: "highest", at: "at", from: "from", to: "to"};

/** The unit behind a value; a number that has none is followed by nothing. */
const unitOf = (axis) => (axis.unit && axis.unit !== "–" ? axis.unit : "");

/**
 * A chart of one quantity.
 *
 * `along`: the shared axis. `x`, `y`: {quantity, unit, digits}; y also `hasFloor`, `isWhole`.
 * `series`: [{name, x, y, isStepped}], lists of one length, x rising; up to four, told apart by line and name.
 * `bands`: [{from, to, name, isPlace}], stretches with a ground of their own; `isPlace` marks the one to look at. `showsLevel`: whether the numbers of x are drawn.
 */
export class TraceChart {
  constructor(place, {along, x, y, series, bands = [], showsLevel = true, words = {}}) {
    Object.assign(this, {along, x, y, bands, showsLevel, words: {...WORDS, ...words}});
    this.#build(place);
    this.sheet = new Sheet(this.plot, (context, room) => this.#draw(context, room));
    this.#hear();
    this.show(series);
  }

  /** Other lines in the same chart. */
  show(series) {
    this.series = series;
    this.range = rangeOf(series.map((one) => one.y)) ?? [0, 1];
    this.names.replaceChildren(...series.filter((one) => one.name).map((one, i) => this.#name(one, i)));
    this.values = new Map(series.map((one, i) => [one, this.readout.children[i] ?? this.readout.appendChild(element("b", {}, ""))]));
    while (this.readout.children.length > series.length) this.readout.lastChild.remove();
    this.plot.setAttribute("aria-description", this.#summary());
    this.table.refresh();
    this.sheet.redraw();
    this.#cursor();
  }

  remove() {
    this.heard.abort();
    this.sheet.remove();
    this.figure.remove();
  }

  #build(place) {
    const title = axisName(this.y);
    this.names = element("span", {class: "chart-names"});
    this.readout = element("span", {class: "chart-value"});
    this.hair = element("i", {class: "chart-hair", hidden: true});
    this.plot = element("div", {class: "chart-plot", tabindex: 0, role: "slider", "aria-label": title, "data-axis-x": axisName(this.x)}, this.hair);
    this.table = numbersTable(title, `${this.words.numbers}: ${this.y.quantity}`, () => this.#rows());
    const caption = element("figcaption", {}, element("span", {class: "chart-title", "data-axis": "y"}, title), this.names, this.readout);
    const level = this.showsLevel ? element("p", {class: "chart-level", "data-axis": "x"}, axisName(this.x)) : null;
    this.figure = element("figure", {class: "chart"}, caption, this.plot, level, this.table);
    place.append(this.figure);
  }

  #name(one, i) {
    const swatch = element("canvas", {class: "chart-swatch", width: 48, height: 16, "aria-hidden": "true"});
    const paint = () => {
      const context = swatch.getContext("2d");
      context.setTransform(2, 0, 0, 2, 0, 0);
      context.clearRect(0, 0, 24, 8);
      this.#style(context, i);
      context.beginPath();
      context.moveTo(0, 4);
      context.lineTo(24, 4);
      context.stroke();
    };
    paint();
    one.paint = paint;
    return element("span", {class: "chart-name"}, swatch, one.name);
  }

  #style(context, i) {
    const now = ink();
    context.strokeStyle = now[COLOURS[i % COLOURS.length]];
    context.lineWidth = now.line;
    context.lineJoin = "round";
    context.setLineDash(DASHES[i % DASHES.length]);
  }

  #draw(context, {width, height, ink: now}) {
    const below = this.showsLevel ? numbersHeight(now) : 4;
    const axis = valueAxis(this.range, {...this.y, height: height - below, line: now.small});
    const left = Math.max(numbersWidth(context, axis, now), 48);
    this.scaleX = new Scale(this.along.from, this.along.to, left, width - 1);
    this.scaleY = new Scale(axis.ticks[0], axis.ticks.at(-1), height - below, Math.ceil(now.small / 2));
    const frame = {x: this.scaleX, y: this.scaleY, ink: now};
    this.#ground(context, frame);
    drawUpright(context, axis, frame);
    if (this.showsLevel) drawLevel(context, frame);
    context.save();
    context.beginPath();
    context.rect(left, 0, width - left, height - below + 1);
    context.clip();
    this.series.forEach((one, i) => this.#line(context, one, i));
    context.restore();
    for (const one of this.series) one.paint?.();
    this.#cursor();
  }

  #ground(context, {x, y, ink: now}) {
    this.bands.forEach((band, i) => {
      const [start, end] = [Math.max(x.at(band.from), x.start), Math.min(x.at(band.to), x.end)];
      context.fillStyle = band.isPlace ? now.focus : now.wash;
      if ((band.isPlace || i % 2 === 0) && end > start) context.fillRect(start, y.end, end - start, y.start - y.end);
    });
  }

  #line(context, one, i) {
    const {scaleX: x, scaleY: y} = this;
    this.#style(context, i);
    context.beginPath();
    let isDown = false;
    let level = 0;
    for (const index of decimated(one.x, one.y, {from: x.from, to: x.to, columns: Math.max(x.end - x.start, 1)})) {
      if (!Number.isFinite(one.y[index])) {
        isDown = false;
        continue;
      }
      const [px, py] = [x.at(one.x[index]), y.at(one.y[index])];
      if (isDown && one.isStepped) context.lineTo(px, level);
      if (isDown) context.lineTo(px, py);
      else context.moveTo(px, py);
      isDown = true;
      level = py;
    }
    context.stroke();
    context.setLineDash([]);
  }

  #hear() {
    this.heard = new AbortController();
    const {signal} = this.heard;
    const value = (place) => this.scaleX.value(Math.max(place.x, this.scaleX.start));
    this.along.addEventListener("cursor", () => this.#cursor(), {signal});
    this.along.addEventListener("window", () => this.sheet.redraw(), {signal});
    listen(this.plot, {
      hover: (place) => this.scaleX && this.along.point(value(place)),
      tap: (place) => this.scaleX && this.along.point(value(place)),
      pan: (by) => this.along.pan(-by.x / this.scaleX.factor),
      pinch: (factor, place, by) => {
        this.along.zoom(factor, value(place));
        if (by.x) this.along.pan(-by.x / this.scaleX.factor);
      },
    });
    steer(this.plot, this.along, () => this.series[0]?.x ?? [this.along.low, this.along.high], signal);
  }

  #cursor() {
    const {at} = this.along;
    if (at === null || !this.scaleX) return;
    const pixel = this.scaleX.at(at);
    this.hair.hidden = pixel < this.scaleX.start - 1 || pixel > this.scaleX.end + 1;
    this.hair.style.height = `${this.scaleY.start}px`;
    this.hair.style.transform = `translateX(${pixel.toFixed(1)}px)`;
    const told = [];
    for (const [one, place] of this.values) {
      const text = one.x.length ? `${shown(one.y[nearestIndex(one.x, at)], this.y.digits ?? 1)} ${unitOf(this.y)}`.trim() : "";
      place.textContent = text;
      told.push(one.name ? `${one.name} ${text}` : text);
    }
    this.plot.setAttribute("aria-valuenow", at.toFixed(this.x.digits ?? 1));
    this.plot.setAttribute("aria-valuetext", `${shown(at, this.x.digits ?? 0)} ${this.x.unit}: ${told.join(", ")}`);
  }

  #summary() {
    const {lowest, highest, at} = this.words;
    return this.series.map((one) => {
      const found = rangeOf([one.y]);
      if (!found) return one.name ?? "";
      const said = found.map((value) => `${`${shown(value, this.y.digits ?? 1)} ${unitOf(this.y)}`.trim()} ${at} ${shown(one.x[one.y.indexOf(value)], this.x.digits ?? 0)} ${this.x.unit}`);
      return `${one.name ? `${one.name}: ` : ""}${lowest} ${said[0]}, ${highest} ${said[1]}`;
    }).join("; ");
  }

  #rows() {
    const head = [axisName(this.x), ...this.series.map((one) => (one.name ? `${one.name} [${this.y.unit}]` : axisName(this.y)))];
    const {low, high} = this.along;
    const places = Array.from({length: ROWS + 1}, (_, i) => low + ((high - low) * i) / ROWS);
    return [head, ...places.map((at) => [shown(at, this.x.digits ?? 0), ...this.series.map((one) => shown(one.y[nearestIndex(one.x, at)], this.y.digits ?? 1))])];
  }
}

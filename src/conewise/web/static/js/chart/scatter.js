// Points in two quantities, told apart by shape, with a line through them where there is one.

import {element} from "../dom.js";
import {drawLevel, drawUpright, numbersHeight, numbersWidth, Scale, valueAxis} from "./axes.js";
import {listen} from "./gestures.js";
import {rangeOf, shown} from "./numbers.js";
import {axisName, numbersTable} from "./parts.js";
import {Sheet} from "./sheet.js";

const REACH = 22; // within which a point is found [px]
const SIZE = 4.5; // half, of a point [px]
const WORDS = {numbers: "Numbers"};

/**
 * A chart of points.
 *
 * `x`, `y`: {quantity, unit, digits, isWhole, hasFloor}. `groups`: [{name, points: [{x, y, name}]}], up to four, each
 * with a shape of its own. `line`: [[x, y], ...]. `chosen(point)`: told when a point is pointed at.
 */
export class ScatterChart {
  constructor(place, {x, y, groups, line = [], chosen = () => {}, words = {}}) {
    Object.assign(this, {x, y, chosen, words: {...WORDS, ...words}});
    this.index = -1;
    const title = `${axisName(y)} / ${axisName(x)}`;
    this.readout = element("span", {class: "chart-value", "aria-live": "polite"});
    this.names = element("span", {class: "chart-names"});
    this.plot = element("div", {class: "chart-plot chart-points", tabindex: 0, role: "img", "aria-label": title});
    this.table = numbersTable(title, `${this.words.numbers}: ${y.quantity}`, () => this.#rows());
    place.append(element("figure", {class: "chart"},
      element("figcaption", {}, element("span", {class: "chart-title", "data-axis": "y"}, axisName(y)), this.names, this.readout),
      this.plot, element("p", {class: "chart-level", "data-axis": "x"}, axisName(x)), this.table));
    this.sheet = new Sheet(this.plot, (context, room) => this.#draw(context, room));
    listen(this.plot, {hover: (at) => this.#near(at), tap: (at) => this.#near(at)});
    this.plot.addEventListener("keydown", (event) => this.#key(event));
    this.show(groups, line);
  }

  show(groups, line = []) {
    this.groups = groups;
    this.line = line;
    this.points = groups.flatMap((group, shape) => group.points.map((point) => ({...point, shape}))).sort((a, b) => a.x - b.x);
    const named = groups.filter((group) => group.name);
    this.names.replaceChildren(...named.map((group) => element("span", {class: "chart-name"}, `${"●○■□"[groups.indexOf(group)]} ${group.name}`)));
    this.table.refresh();
    this.sheet.redraw();
  }

  #draw(context, {width, height, ink}) {
    const bottom = height - numbersHeight(ink);
    const axis = valueAxis(rangeOf([this.points.map((p) => p.y), this.line.map((p) => p[1])]) ?? [0, 1], {...this.y, height: bottom, line: ink.small});
    const [low, high] = rangeOf([this.points.map((p) => p.x)]) ?? [0, 1];
    const room = this.x.isWhole ? 0.5 : (high - low) / 24 || 1;
    const left = Math.max(numbersWidth(context, axis, ink), 48);
    this.scaleX = new Scale(low - room, high + room, left, width - 1);
    this.scaleY = new Scale(axis.ticks[0], axis.ticks.at(-1), bottom, SIZE * 2);
    const frame = {x: this.scaleX, y: this.scaleY, ink, hasLines: true};
    drawUpright(context, axis, frame);
    drawLevel(context, {...frame, isWhole: this.x.isWhole});
    context.strokeStyle = ink.quiet;
    context.lineWidth = ink.line;
    context.beginPath();
    this.line.forEach(([x, y], i) => context[i ? "lineTo" : "moveTo"](this.scaleX.at(x), this.scaleY.at(y)));
    context.stroke();
    this.points.forEach((point, i) => this.#point(context, point, i === this.index, ink));
  }

  #point(context, point, isChosen, ink) {
    const [x, y] = [this.scaleX.at(point.x), this.scaleY.at(point.y)];
    context.lineWidth = 1.75;
    context.beginPath();
    if (point.shape < 2) context.arc(x, y, SIZE, 0, 2 * Math.PI);
    else context.rect(x - SIZE, y - SIZE, 2 * SIZE, 2 * SIZE);
    context.fillStyle = point.shape % 2 ? ink.paper : ink.ink;
    context.strokeStyle = ink.ink;
    context.fill();
    context.stroke();
    if (!isChosen) return;
    context.beginPath();
    context.arc(x, y, SIZE + 5, 0, 2 * Math.PI);
    context.strokeStyle = ink.signal;
    context.lineWidth = 3;
    context.stroke();
  }

  #near(at) {
    let best = -1;
    let smallest = REACH;
    this.points.forEach((point, i) => {
      const away = Math.hypot(this.scaleX.at(point.x) - at.x, this.scaleY.at(point.y) - at.y);
      if (away < smallest) [best, smallest] = [i, away];
    });
    if (best >= 0) this.#choose(best);
  }

  #choose(index) {
    if (index === this.index || !this.points.length) return;
    this.index = index;
    const point = this.points[index];
    this.readout.textContent = this.#said(point);
    this.chosen(point);
    this.sheet.redraw();
  }

  #said(point) {
    const {x, y} = this;
    return `${point.name ? `${point.name}: ` : ""}${shown(point.x, x.digits ?? 0)} ${x.unit ?? ""}, ${shown(point.y, y.digits ?? 2)} ${y.unit ?? ""}`;
  }

  #key(event) {
    const last = this.points.length - 1;
    const moves = {ArrowRight: this.index + 1, ArrowUp: this.index + 1, ArrowLeft: this.index - 1, ArrowDown: this.index - 1, Home: 0, End: last};
    if (!(event.key in moves)) return;
    event.preventDefault();
    this.#choose(Math.min(Math.max(moves[event.key], 0), last));
  }

  #rows() {
    return [[axisName(this.x), axisName(this.y), this.words.name ?? ""], ...this.points.map((p) => [shown(p.x, this.x.digits ?? 0), shown(p.y, this.y.digits ?? 2), p.name ?? this.groups[p.shape].name ?? ""])];
  }
}

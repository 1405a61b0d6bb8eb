// The frame of a chart: where the plot lies on its sheet, grid lines, and the numbers along both axes.

import {digitsOf, niceTicks, shown, ticksInside} from "./numbers.js";

const PAD = 8; // between plot and numbers [px]

/** From values to pixels and back along one axis. */
export class Scale {
  constructor(from, to, start, end) {
    Object.assign(this, {from, to, start, end});
    this.factor = (end - start) / (to - from || 1);
  }

  at(value) {
    return this.start + (value - this.from) * this.factor;
  }

  value(pixel) {
    return this.from + (pixel - this.start) / this.factor;
  }
}

/** Round ticks that enclose a range, with room for the numbers in pixels. */
export function valueAxis(range, {hasFloor = false, isWhole = false, height = 120, line = 24} = {}) {
  const low = hasFloor ? Math.min(0, range[0]) : range[0];
  const high = range[1] > low ? range[1] : low + 1;
  const most = Math.min(Math.max(Math.floor(height / (2 * line)), 1), 4);
  const ticks = isWhole ? wholeTicks(low, high, most) : niceTicks(low, high, most);
  return {ticks, digits: digitsOf(ticks)};
}

function wholeTicks(low, high, most) {
  const step = Math.max(1, Math.ceil((Math.ceil(high) - Math.floor(low)) / most));
  const ticks = [];
  for (let tick = Math.floor(low); tick < high + step; tick += step) ticks.push(tick);
  return ticks;
}

/** Width that the numbers of an axis need. [px] */
export function numbersWidth(context, {ticks, digits}, ink) {
  context.font = ink.font;
  return Math.ceil(Math.max(...ticks.map((tick) => context.measureText(shown(tick, digits)).width))) + PAD;
}

/** Height that the numbers below the plot need. [px] */
export function numbersHeight(ink) {
  return Math.ceil(ink.small * 1.25) + 4;
}

/** Numbers that have room beside each other, each with its middle and its text. */
export function withRoom(context, ticks, x, [left, right]) {
  const digits = digitsOf(ticks);
  let taken = -Infinity;
  return ticks.flatMap((tick) => {
    const text = shown(tick, digits);
    const half = context.measureText(text).width / 2;
    const middle = Math.min(Math.max(x.at(tick), left + half), right - half);
    if (middle - half < taken + PAD) return [];
    taken = middle + half;
    return [{tick, text, middle}];
  });
}

/** Grid and numbers of the upright axis. */
export function drawUpright(context, {ticks, digits}, {x, y, ink}) {
  context.font = ink.font;
  context.textAlign = "right";
  context.textBaseline = "middle";
  for (const tick of ticks) {
    const at = Math.round(y.at(tick)) + 0.5;
    context.strokeStyle = tick === 0 && y.from < 0 ? ink.quiet : ink.rule;
    context.lineWidth = 1;
    context.beginPath();
    context.moveTo(x.start, at);
    context.lineTo(x.end, at);
    context.stroke();
    context.fillStyle = ink.quiet;
    const half = ink.small / 2;
    const inside = Math.min(Math.max(y.at(tick), y.end + (y.end === 0 ? half : 0)), y.start);
    context.fillText(shown(tick, digits), x.start - PAD, inside);
  }
}

/** Numbers, and short marks or whole lines, of the level axis. */
export function drawLevel(context, {x, y, ink, hasLines = false, isWhole = false}) {
  context.font = ink.font;
  const width = context.measureText("0000").width + 24;
  const inside = ticksInside(x.from, x.to, Math.max(Math.floor((x.end - x.start) / width), 1));
  const ticks = isWhole ? inside.filter(Number.isInteger) : inside;
  context.textAlign = "center";
  context.textBaseline = "top";
  for (const tick of ticks) {
    const at = Math.round(x.at(tick)) + 0.5;
    context.strokeStyle = hasLines ? ink.rule : ink.quiet;
    context.lineWidth = 1;
    context.beginPath();
    context.moveTo(at, hasLines ? y.end : y.start);
    context.lineTo(at, y.start + 4);
    context.stroke();
  }
  context.fillStyle = ink.quiet;
  for (const {text, middle} of withRoom(context, ticks, x, [x.start - PAD, x.end])) context.fillText(text, middle, y.start + 6);
}

// Gains of changes with their intervals: rough ones first, sharper as they are solved; the driver on a scale of its own.
import {IntervalChart} from "../chart/interval.js";
import {element} from "../dom.js";
import {number, text} from "../text.js";

/** Charts in their places; `show(rows)` again and again. */
export class Gains {
  constructor() {
    this.charts = new Map();
  }

  show(rows) {
    this.#group("driver", rows.filter((row) => row.is_first));
    this.#group("car", rows.filter((row) => !row.is_first));
  }

  #group(name, rows) {
    const told = rows.filter((row) => row.gain !== null).map((row) => ({
      name: row.name,
      estimate: row.gain,
      low: row.low,
      high: row.high,
      isRough: !row.is_solved,
      note: [row.is_solved ? row.kind : `${row.kind}, ${text("change.rough")}`, row.is_proposed ? "" : text("change.not_proposed"), row.price].filter(Boolean).join(", "),
    }));
    if (!told.length) return;
    const chart = this.charts.get(name);
    if (chart) chart.show(told);
    else {
      const place = document.getElementById(`gains-${name}`);
      place.append(element("h3", {}, text(name === "car" ? "change.gains_car" : "change.gains_driver")));
      this.charts.set(name, new IntervalChart(place, {
        value: {quantity: text("change.gain"), unit: text("change.seconds"), digits: 2},
        rows: told,
        name: text("change.change"),
        words: {low: text("change.worse"), high: text("change.better")},
      }));
    }
  }
}

/** The change that gains most of those that are solved, in words; empty where none is. */
export function bestSoFar(rows) {
  const best = rows.filter((row) => row.is_solved && row.is_proposed).sort((a, b) => b.gain - a.gain)[0];
  return best && best.gain > 0 ? text("change.first_then", {name: best.name, gain: number(best.gain, 2)}) : "";
}

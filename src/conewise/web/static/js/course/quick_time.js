// The time beside the drawing: within a second or two of a change, at once while something is dragged.

import {number, text} from "../text.js";
import {lengthUnit} from "../units.js";
import {Asking} from "./asking.js";
import {SpeedLine} from "./speed_line.js";

const WAIT = 150; // after a change [ms]

export class QuickTime {
  constructor({answer, about, map, car, drawing}) {
    Object.assign(this, {answer, about, map, car, drawing, number: 0});
    this.asking = new Asking("/api/course/line", {wait: WAIT, answered: (told) => this.#show(told), failed: (refusal) => this.#none(refusal)});
    if (!car) answer.textContent = "";
  }

  /** The course is a new state. */
  ask(course) {
    if (this.car) this.asking.ask(this.#question(course, false));
  }

  /** Something is being dragged: path and sides stay as they are. */
  follow(course) {
    if (this.car) this.asking.keepAsking(this.#question(course, true));
  }

  #question(course, isDragged) {
    this.number += 1;
    this.isDragged = isDragged;
    return {drawing: this.drawing, number: this.number, course, car: this.car, is_dragged: isDragged};
  }

  #show(told) {
    this.answer.textContent = `${number(told.time_s, 2)} ${text("draw.seconds")}`;
    this.about.textContent = text(this.isDragged ? "draw.moved" : "draw.quick", {car: told.car});
    this.line = new SpeedLine({s: told.s_m, t: told.t_s, x: told.x_m, y: told.y_m, v: told.speed_m_s});
    this.map.drawLines([this.line]);
  }

  #none(refusal) {
    this.answer.textContent = "–";
    this.about.textContent = text("draw.no_line", {why: `${refusal.message} ${refusal.hint}`});
    this.map.drawLines([]);
  }

  lengthWords(drawn) {
    const {unit, factor} = lengthUnit();
    const cones = drawn.course.cones.length;
    return `${text("course.length")} ${number(drawn.length_m * factor, 0)} ${unit}, ${text("course.n_cones", {n: cones})}`;
  }
}

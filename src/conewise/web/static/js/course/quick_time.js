// The time beside the drawing: the estimate within a second or two of a change, also while something is dragged, and
// the exact run once the hand rests; each is given up when the drawing changes again.

import {ask, follow, stop} from "../live.js";
import {number, text} from "../text.js";
import {lengthUnit, speedUnit} from "../units.js";
import {Asking} from "./asking.js";
import {SpeedLine, speedKey} from "./speed_line.js";

const WAIT = 150; // after a change [ms]
const REST = 500; // of the hand, before the exact run is asked for [ms]

export class QuickTime {
  constructor({answer, about, key, map, car, driver, drawing}) {
    Object.assign(this, {answer, about, key, map, car, driver, drawing, number: 0});
    this.asking = new Asking("/api/course/line", {wait: WAIT, answered: (told) => this.#show(told), failed: (refusal) => this.#none(refusal)});
  }

  /** The course is a new state. */
  ask(course) {
    this.#giveUp();
    if (this.car) this.asking.ask(this.#question(course, false));
  }

  /** Something is being dragged: path and sides stay as they are. */
  follow(course) {
    this.#giveUp();
    if (this.car) this.asking.keepAsking(this.#question(course, true));
  }

  #question(course, isDragged) {
    this.number += 1;
    this.isDragged = isDragged;
    this.course = course;
    return {drawing: this.drawing, number: this.number, course, car: this.car, is_dragged: isDragged};
  }

  #show(told) {
    this.answer.textContent = `${number(told.time_s, 2)} ${text("draw.seconds")}`;
    this.about.textContent = text(this.isDragged ? "draw.moved" : "draw.quick", {car: told.car});
    this.#draw(told);
    if (!this.isDragged) this.resting = setTimeout(() => this.#exact(), REST);
  }

  #draw(told) {
    this.line = new SpeedLine({s: told.s_m, t: told.t_s, x: told.x_m, y: told.y_m, v: told.speed_m_s});
    this.map.drawLines([this.line]);
    const speed = speedUnit();
    this.key.replaceChildren(speedKey(this.line.range, {quantity: text("draw.speed"), unit: speed.unit, factor: speed.factor}));
  }

  /** The transient run, worked out beside the pages. */
  async #exact() {
    const given = new AbortController();
    this.given = given;
    try {
      const job = await ask("drawing", {course: this.course, car: this.car, driver: this.driver}, this.drawing);
      if (given.signal.aborted) return;
      this.job = job;
      const {result} = await follow(job.id, {signal: given.signal});
      this.job = null;
      this.answer.textContent = `${number(result.time_s, 2)} ${text("draw.seconds")}`;
      this.about.textContent = text(result.level !== "transient" || !result.is_checked ? "draw.unsure" : "draw.exact", {car: result.car});
      this.#draw(result);
    } catch (refusal) {
      if (!given.signal.aborted && refusal.code !== "job-stopped") this.about.textContent = text("draw.no_exact", {why: `${refusal.message} ${refusal.hint}`});
    }
  }

  #giveUp() {
    clearTimeout(this.resting);
    this.given?.abort();
    if (this.job) stop(this.job.id, {slot: this.drawing}).catch(() => {}); // it stops by itself when the next one of this drawing is asked
    this.job = null;
  }

  #none(refusal) {
    this.answer.textContent = "–";
    this.about.textContent = text("draw.no_line", {why: `${refusal.message} ${refusal.hint}`});
    this.map.drawLines([]);
    this.key.replaceChildren();
  }

  /** How long the course is: the answer as long as no car is chosen. */
  length(drawn) {
    const {unit, factor} = lengthUnit();
    return drawn.length_m === null ? "–" : `${number(drawn.length_m * factor, 0)} ${unit}`;
  }

  lengthWords(drawn) {
    const standing = drawn.course.cones.filter((cone) => !cone.points_to).length;
    return `${text("course.length")} ${this.length(drawn)}, ${text("course.n_cones", {n: standing, pointers: drawn.course.cones.length - standing})}`;
  }
}

// A sheet on which the course is drawn in one line with a finger, and laid on the course when it is done.
import {element} from "../dom.js";
import {text} from "../text.js";
import {button, shapeWords} from "./drill.js";
import {scoreShape} from "./shape.js";
import {turner} from "./walk_map.js";

const LEAST_STEP = 3; // between two points [px]

export class DrawingPad {
  constructor(root, course, {leave, scored}) {
    Object.assign(this, {course, scored, points: []});
    this.canvas = element("canvas", {class: "drawing", "aria-label": text("drill.sheet")});
    this.said = element("h2", {}, text("drill.draw_it"));
    root.replaceChildren(
      this.said,
      this.canvas,
      element("div", {class: "gloves"},
        button(text("drill.check"), () => this.check()),
        button(text("drill.wipe"), () => this.wipe(), "second"),
        button(text("drill.to_cards"), leave, "second")),
    );
    const {canvas} = this;
    canvas.addEventListener("pointerdown", (event) => {
      canvas.setPointerCapture(event.pointerId);
      this.points = [];
      this.add(event);
    });
    canvas.addEventListener("pointermove", (event) => canvas.hasPointerCapture(event.pointerId) && this.add(event));
    this.size();
  }

  size() {
    const {canvas} = this;
    const scale = devicePixelRatio || 1;
    canvas.width = canvas.clientWidth * scale;
    canvas.height = canvas.clientHeight * scale;
    this.pen = canvas.getContext("2d");
    this.pen.scale(scale, scale);
    this.pen.lineJoin = this.pen.lineCap = "round";
    this.ink = getComputedStyle(canvas);
  }

  add(event) {
    const box = this.canvas.getBoundingClientRect();
    const point = [event.clientX - box.left, event.clientY - box.top];
    const last = this.points.at(-1);
    if (last && Math.hypot(point[0] - last[0], point[1] - last[1]) < LEAST_STEP) return;
    this.points.push(point);
    this.show();
  }

  line(points, colour, width) {
    if (!points.length) return;
    this.pen.strokeStyle = colour;
    this.pen.lineWidth = width;
    this.pen.beginPath();
    points.forEach(([x, y], i) => (i ? this.pen.lineTo(x, y) : this.pen.moveTo(x, y)));
    this.pen.stroke();
  }

  show() {
    this.pen.clearRect(0, 0, this.canvas.clientWidth, this.canvas.clientHeight);
    this.line(this.points, this.ink.color, 4);
  }

  wipe() {
    this.points = [];
    this.show();
    this.said.textContent = text("drill.draw_it");
  }

  // On a sheet y counts downwards, on the plan upwards.
  check() {
    const {course} = this;
    const spans = course.features.map((one) => ({feature: one.id, number: one.number, start: one.start_m, end: one.end_m}));
    const score = scoreShape({line: course.line, length: course.length_m, spans}, this.points.map(([x, y]) => [x, -y]));
    this.said.textContent = shapeWords(score, course);
    if (score.problem) return;
    this.scored(score);
    this.overlay(score);
  }

  // The course, and the drawing laid on it, both turned as the driver stands at the start.
  overlay(score) {
    const turn = turner(this.course.heading_rad);
    const wanted = this.course.line.map(turn);
    const drawn = score.fitted.map(turn);
    const all = [...wanted, ...drawn];
    const [left, right] = [Math.min(...all.map((p) => p[0])), Math.max(...all.map((p) => p[0]))];
    const [top, bottom] = [Math.min(...all.map((p) => p[1])), Math.max(...all.map((p) => p[1]))];
    const [w, h] = [this.canvas.clientWidth - 32, this.canvas.clientHeight - 32];
    const scale = Math.min(w / (right - left), h / (bottom - top));
    const place = ([x, y]) => [16 + (w - scale * (right - left)) / 2 + scale * (x - left), 16 + (h - scale * (bottom - top)) / 2 + scale * (y - top)];
    this.pen.clearRect(0, 0, this.canvas.clientWidth, this.canvas.clientHeight);
    this.pen.setLineDash([8, 8]);
    this.line(wanted.map(place), this.ink.borderTopColor, 3);
    this.pen.setLineDash([]);
    this.line(drawn.map(place), this.ink.color, 4);
  }
}


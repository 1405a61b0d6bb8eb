// A map of a course: cones by shape, numbered features, the line by speed, a cursor that charts share.

import {listen} from "../chart/gestures.js";
import {onLook} from "../chart/ink.js";
import {drawn, element} from "../dom.js";
import {conesById, courseExtentOf, extentOf, groundOf, pathThrough} from "./ground.js";
import {coneMark, headingsOf, numberMark, numberPlaces, sidesOf} from "./marks.js";
import {Plane} from "./plane.js";

const REACH = 22; // within which a cone is found, so that targets are 44 px [px]
const NEAR_LINE = 40; // within which the cursor takes to the line [px]
const ZOOM = 1.5;
const NUMBER = 0.78; // radius of a number's ring, of its type
const NARROW = 480; // below this width a screen is narrow [px]
const SETTLE = 120; // after the last change of view, before numbers look for their places [ms]

/**
 * A map in a place.
 *
 * `words`: {label, larger, smaller, all}. `mayTurn`: whether a wide course may lie upright on a narrow screen.
 * `mayFill`: whether the course alone, without its lot, may fill a narrow screen.
 * `told`: {choose({cone}), press(place, event), drag(step, place), drop(), key(event)}; see `gestures.js`. `extras` are
 * told to `update()` when the view has changed.
 */
export class CourseMap {
  constructor(place, {words, mayTurn = false, mayFill = false, told = {}}) {
    Object.assign(this, {mayTurn, mayFill, told, plane: new Plane(), marks: new Map(), numbers: new Map(), lines: [], extras: [], along: null});
    this.svg = drawn("svg", {class: "course-svg", tabindex: 0, role: "application", "aria-label": words.label, "aria-keyshortcuts": "+ - 0 PageUp PageDown"});
    const layers = ["behind", "ground", "ways", "glyphs", "over"].map((name) => drawn("g", {class: name}));
    [this.behind, this.ground, this.ways, this.glyphs, this.over] = layers;
    this.svg.append(...layers);
    this.chosenRing = drawn("circle", {class: "ring", r: 14, visibility: "hidden"});
    this.cursors = [];
    this.over.append(this.chosenRing);
    const act = (label, sign, go) => element("button", {type: "button", class: "second map-button", "aria-label": label, onclick: go}, sign);
    const middle = () => ({x: this.plane.width / 2, y: this.plane.height / 2});
    this.buttons = element("div", {class: "map-buttons"},
      act(words.larger, "+", () => this.zoom(ZOOM, middle())), act(words.smaller, "−", () => this.zoom(1 / ZOOM, middle())), act(words.all, "◻", () => this.showAll()));
    this.box = element("div", {class: "course-map"}, this.svg, this.buttons);
    place.append(this.box);
    this.#hear();
    new ResizeObserver(() => this.#resized()).observe(this.svg);
    onLook(() => this.#settle()); // rings are larger in another look
  }

  /** Another course or another state of it; the view stays unless the course is new to the map. */
  show(course, path) {
    const isNew = this.course === undefined;
    Object.assign(this, {course, path, cones: conesById(course)});
    this.ground.replaceChildren(...groundOf(course, path));
    this.gates = [...this.ground.querySelectorAll(".gate, .beam")];
    const [sides, headings] = [sidesOf(course), headingsOf(course, path)];
    const kept = new Map();
    for (const cone of course.cones) {
      const look = `${cone.points_to === null}|${(sides.get(cone.id) ?? []).join()}`;
      const old = this.marks.get(cone.id);
      const mark = old?.look === look ? old : {look, node: coneMark(cone, sides.get(cone.id) ?? [])};
      mark.heading = headings.get(cone.id);
      kept.set(cone.id, mark);
    }
    this.marks = kept;
    const places = new Map([...this.numbers].map(([id, number]) => [id, number.at]));
    this.numbers = new Map(course.features.map((feature, i) => [feature.id, {node: numberMark(i + 1, feature.id), at: places.get(feature.id) ?? null}]));
    this.glyphs.replaceChildren(...[...kept.values()].map((mark) => mark.node), ...[...this.numbers.values()].map((number) => number.node));
    if (isNew) this.showAll();
    else this.#viewed();
    this.choose(this.choice ?? {});
  }

  /** Lines of runs: the first by speed, another beside it plain. */
  drawLines(lines) {
    this.lines = lines;
    const [first, ...others] = lines;
    const beside = others.map((line) => drawn("path", {class: "other", d: pathThrough(line.x.map((x, i) => [x, line.y[i]]))}));
    this.ways.replaceChildren(...(first ? first.paths() : []), ...beside);
    for (const cursor of this.cursors) cursor.remove();
    this.cursors = lines.map((_, i) => drawn("g", {class: i ? "here beside" : "here", visibility: "hidden"}, drawn("path", {d: "M9 0L-6 6L-6 -6Z"}), drawn("circle", {r: 7})));
    this.over.append(...this.cursors);
    this.box.classList.toggle("has-line", lines.length > 0);
    this.#point();
  }

  /** Share the cursor of an axis along the course. */
  link(along) {
    this.along = along;
    along.addEventListener("cursor", () => this.#point());
  }

  /** Put the cursors of all lines at stations, or at one time of all runs. */
  point(stations) {
    this.lines.forEach((line, i) => {
      const cursor = this.cursors[i];
      const station = stations[i] ?? stations[0];
      if (station === null || station === undefined) return cursor.setAttribute("visibility", "hidden");
      const at = line.at(station);
      const [x, y] = this.plane.at(at.x, at.y);
      cursor.setAttribute("transform", `translate(${x.toFixed(1)} ${y.toFixed(1)}) rotate(${this.plane.angle(at.heading).toFixed(1)})`);
      return cursor.setAttribute("visibility", "visible");
    });
  }

  #point() {
    if (this.along && this.lines.length) this.point(this.stations?.(this.along.at) ?? [this.along.at]);
  }

  /** Show what is chosen: {entry, cone}, ids. */
  choose({entry = null, cone = null}) {
    this.choice = {entry, cone};
    for (const [id, number] of this.numbers) number.node.classList.toggle("chosen", id === entry);
    for (const gate of this.gates ?? []) gate.classList.toggle("chosen", gate.dataset.entry === entry);
    const own = new Set(this.course?.features.find((feature) => feature.id === entry)?.crossings.flat().map((pass) => pass.cone));
    for (const [id, mark] of this.marks) {
      mark.node.classList.toggle("of-entry", own.has(id));
      mark.node.classList.toggle("chosen", id === cone);
    }
    this.#ring();
  }

  /** A cone at another place, without looking at the rest again: what a drag does in every frame. */
  moveCone(id, x, y) {
    const cone = {...this.cones.get(id), x, y};
    this.cones.set(id, cone);
    this.#placeMark(id, this.marks.get(id));
    for (const gate of this.gates) {
      const feature = this.course.features.find((one) => one.id === gate.dataset.entry);
      if (!feature.crossings.some((crossing) => crossing.some((pass) => pass.cone === id))) continue;
      const crossings = feature.crossings.filter((crossing) => crossing.length > 1);
      const index = this.gates.filter((other) => other.dataset.entry === gate.dataset.entry).indexOf(gate);
      const ends = [crossings[index][0], crossings[index].at(-1)].map((pass) => this.cones.get(pass.cone));
      gate.setAttribute("d", pathThrough(ends.map((end) => [end.x, end.y])));
    }
    if (id === this.choice?.cone) this.#ring();
    for (const extra of this.extras) extra.update();
  }

  /** The cone nearest to a place on the screen, within reach of a finger; null where there is none. */
  pick({x, y}) {
    let best = null;
    let smallest = REACH;
    for (const cone of this.cones?.values() ?? []) {
      const [px, py] = this.plane.at(cone.x, cone.y);
      const away = Math.hypot(px - x, py - y);
      if (away < smallest) [best, smallest] = [cone.id, away];
    }
    return best;
  }

  zoom(factor, place) {
    this.plane.zoom(factor, place);
    this.#viewed();
  }

  pan(dx, dy) {
    this.plane.pan(dx, dy);
    this.#viewed();
  }

  showAll() {
    const {clientWidth: width, clientHeight: height} = this.box;
    if (!this.course || !width) return;
    const fills = this.mayFill && width < NARROW;
    this.plane.fit(fills ? courseExtentOf(this.course, this.path) : extentOf(this.course, this.path), {width, height, mayTurn: this.mayTurn});
    this.#viewed();
  }

  /** Bring a place of the plan into view where it is outside. */
  reveal(x, y) {
    const [px, py] = this.plane.at(x, y);
    if (px > 24 && py > 24 && px < this.plane.width - 24 && py < this.plane.height - 24) return;
    this.pan(this.plane.width / 2 - px, this.plane.height / 2 - py);
  }

  #resized() {
    const {clientWidth: width, clientHeight: height} = this.box;
    if (!width || (width === this.plane.width && height === this.plane.height)) return;
    if (this.plane.isWhole || this.plane.width === 1) this.showAll();
    else {
      Object.assign(this.plane, {width, height});
      this.#viewed();
    }
  }

  #viewed() {
    for (const layer of [this.behind, this.ground, this.ways]) layer.setAttribute("transform", this.plane.matrix);
    for (const [id, mark] of this.marks) this.#placeMark(id, mark);
    for (const number of this.numbers.values()) if (number.at) this.#placeNumber(number);
    this.#ring();
    this.#point();
    this.box.classList.toggle("zoomed", !this.plane.isWhole);
    clearTimeout(this.settling);
    if ([...this.numbers.values()].some((number) => !number.at)) this.#settle();
    else this.settling = setTimeout(() => this.#settle(), SETTLE);
    for (const extra of this.extras) extra.update();
  }

  #settle() {
    if (!this.course) return;
    const type = parseFloat(getComputedStyle(this.svg).getPropertyValue("--small"));
    const places = numberPlaces(this.course, this.path, this.plane, NUMBER * type);
    [...this.numbers.values()].forEach((number, i) => {
      number.at = this.plane.plan(...places[i].at);
      number.node.classList.toggle("crowded", places[i].isCrowded);
      this.#placeNumber(number);
    });
    for (const extra of this.extras) extra.update();
  }

  #placeMark(id, mark) {
    const cone = this.cones.get(id);
    let [x, y] = this.plane.at(cone.x, cone.y);
    const target = this.cones.get(cone.points_to);
    if (target) { // beside its cone at any scale
      const [tx, ty] = this.plane.at(target.x, target.y);
      const away = Math.max(Math.hypot(x - tx, y - ty), 16);
      const towards = Math.atan2(ty - y, tx - x);
      [x, y] = [tx - away * Math.cos(towards), ty - away * Math.sin(towards)];
    }
    mark.node.setAttribute("transform", `translate(${x.toFixed(2)} ${y.toFixed(2)}) rotate(${this.plane.angle(mark.heading).toFixed(1)})`);
  }

  #placeNumber({node, at}) {
    const [x, y] = this.plane.at(...at);
    node.setAttribute("transform", `translate(${x.toFixed(1)} ${y.toFixed(1)})`);
  }

  #ring() {
    const cone = this.cones?.get(this.choice?.cone);
    this.chosenRing.setAttribute("visibility", cone ? "visible" : "hidden");
    if (!cone) return;
    const [x, y] = this.plane.at(cone.x, cone.y);
    this.chosenRing.setAttribute("cx", x.toFixed(2));
    this.chosenRing.setAttribute("cy", y.toFixed(2));
  }

  #onLine({x, y}) {
    if (!this.along || !this.lines.length) return;
    const found = this.lines[0].nearest(...this.plane.plan(x, y));
    if (found.away * this.plane.scale < NEAR_LINE) this.along.point(found.s);
  }

  #hear() {
    listen(this.svg, {
      hover: (place) => this.#onLine(place),
      press: (place, event) => this.told.press?.(place, event) === true,
      drag: (by, place, event) => this.told.drag?.(this.plane.step(by.x, by.y), place, event),
      drop: (place, event) => this.told.drop?.(place, event),
      tap: (place, event) => {
        this.told.choose?.({cone: this.pick(place)});
        this.#onLine(place);
      },
      pan: (by) => this.pan(by.x, by.y),
      slide: (by) => !this.plane.isWhole && this.pan(by.x, by.y),
      pinch: (factor, place, by) => {
        this.plane.pan(by.x, by.y);
        this.zoom(factor, place);
      },
    });
    this.svg.addEventListener("keydown", (event) => this.#key(event));
  }

  #key(event) {
    if (event.ctrlKey || event.metaKey || this.told.key?.(event) === true) return;
    const middle = {x: this.plane.width / 2, y: this.plane.height / 2};
    const step = 60;
    const acts = {
      "+": () => this.zoom(ZOOM, middle), "=": () => this.zoom(ZOOM, middle), "-": () => this.zoom(1 / ZOOM, middle), "0": () => this.showAll(),
      ArrowLeft: () => this.pan(step, 0), ArrowRight: () => this.pan(-step, 0), ArrowUp: () => this.pan(0, step), ArrowDown: () => this.pan(0, -step),
      PageDown: () => this.told.choose?.({cone: this.#next(1)}), PageUp: () => this.told.choose?.({cone: this.#next(-1)}),
      Escape: () => this.told.choose?.({cone: null}),
    };
    if (!(event.key in acts)) return;
    event.preventDefault();
    acts[event.key]();
  }

  /** The next cone in driving order. */
  #next(by) {
    const order = [...new Set(this.course.features.flatMap((feature) => feature.crossings.flat().map((pass) => pass.cone)))];
    const at = order.indexOf(this.choice?.cone);
    const cone = order[at < 0 ? (by > 0 ? 0 : order.length - 1) : (at + by + order.length) % order.length];
    this.reveal(this.cones.get(cone).x, this.cones.get(cone).y);
    return cone;
  }
}

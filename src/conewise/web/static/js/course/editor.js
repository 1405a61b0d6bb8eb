// Drawing: the map under the hand, the list beside it, the server for everything that is geometry or physics.

import {text} from "../text.js";
import {entryOf, movedCones, ownCones, withPointers} from "./draft.js";
import {Handles} from "./handles.js";
import {CourseMap} from "./map.js";
import {spotsOf, withSpots} from "./site.js";

const STEPS = {Shift: 1, Alt: 0.01};
const STEP = 0.1; // of an arrow key [m]
const ARROWS = {ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1]};

/**
 * The map of a draft, on which things are chosen and dragged.
 *
 * `chosen(choice)` is told {entry, cone, thing, spot}; what a drag does goes through the draft. `marks`: the two marks
 * of a picture while they are put, as {spots(), move(i, spot), done()}; null as a rule.
 */
export class Editor {
  constructor(place, {draft, words, chosen}) {
    Object.assign(this, {draft, chosen, choice: {}, marks: null, frame: 0});
    this.map = new CourseMap(place, {words, mayTurn: true, told: {
      press: (at) => this.#press(at),
      drag: (step) => this.#drag(step),
      drop: () => this.#drop(),
      choose: ({cone}) => this.tapped ? this.#tapped() : this.choose({cone, entry: cone ? entryOf(this.draft.course, cone, this.choice.entry) : null}),
      key: (event) => this.#key(event),
    }});
    this.map.box.classList.add("editing");
    this.handles = new Handles(this.map, () => this.#places());
  }

  /** The draft as it is now, with the path that the server gave. */
  show(path) {
    this.map.show(this.draft.course, path);
    const {entry, cone, thing} = this.choice;
    const {course} = this.draft;
    const isGone = (entry && !course.features.some((one) => one.id === entry)) || (cone && !course.cones.some((one) => one.id === cone));
    if (isGone) this.choose({});
    else this.map.choose({entry, cone});
    if (thing && !spotsOf(course, thing).length && thing !== "stop") this.choose({});
    this.handles.update();
  }

  choose(choice) {
    this.choice = {entry: null, cone: null, thing: null, spot: 0, ...choice};
    this.map.choose(this.choice);
    this.handles.update();
    this.chosen(this.choice);
  }

  /** Handles that can be dragged now: marks of a picture, corners of a thing, the chosen cone, the chosen entry. */
  #places() {
    const {cone, entry, thing, spot} = this.choice;
    const {course} = this.draft;
    if (this.marks) return this.marks.spots().map((at, i) => ({key: ["mark", i], at, label: String(i + 1)}));
    if (thing) return spotsOf(course, thing).map((at, i) => ({key: ["spot", i], at, label: String(i + 1), isChosen: i === spot}));
    const at = (id) => { const one = course.cones.find((other) => other.id === id); return [one.x, one.y]; };
    if (cone) return [{key: ["cone", cone], at: at(cone), aside: true, label: cone}];
    const feature = course.features.find((one) => one.id === entry);
    if (!feature) return [];
    const places = feature.crossings[0].map((pass) => at(pass.cone));
    const middle = [places.reduce((sum, p) => sum + p[0], 0) / places.length, places.reduce((sum, p) => sum + p[1], 0) / places.length];
    return [{key: ["entry", entry], at: middle, aside: feature.crossings[0].length === 1, label: entry}];
  }

  #press(at) {
    this.tapped = false;
    const handle = this.handles.pick(at);
    if (handle) this.dragged = handle.key;
    else if (this.marks || this.choice.thing) this.dragged = null;
    else {
      const cone = this.map.pick(at);
      this.dragged = cone ? ["cone", cone] : null;
      if (cone) this.choose({cone, entry: entryOf(this.draft.course, cone, this.choice.entry)});
    }
    this.tapped = this.dragged !== null;
    if (this.dragged?.[0] === "spot") this.choose({...this.choice, spot: this.dragged[1]});
    this.sum = [0, 0];
    return this.dragged !== null;
  }

  #tapped() {
    this.tapped = false; // the press has chosen already
  }

  #drag(step) {
    this.sum = [this.sum[0] + step[0], this.sum[1] + step[1]];
    this.frame ||= requestAnimationFrame(() => {
      this.frame = 0;
      this.#move();
    });
  }

  #move() {
    if (!this.dragged) return;
    const [kind, key] = this.dragged;
    const {course} = this.draft.now;
    const [dx, dy] = this.sum;
    if (kind === "mark") {
      const [x, y] = this.marks.spots()[key];
      this.marks.move(key, [x + dx, y + dy]);
      this.sum = [0, 0];
    } else if (kind === "spot") {
      const spots = spotsOf(course, this.choice.thing).map(([x, y], i) => (i === key ? [x + dx, y + dy] : [x, y]));
      this.draft.live(withSpots(course, this.choice.thing, spots));
      this.map.show(this.draft.course, this.map.path);
    } else {
      const ids = kind === "cone" ? withPointers(course, key) : ownCones(course, key);
      this.#live(movedCones(course, ids, this.sum), ids);
    }
    this.handles.update();
  }

  /** What a frame of a drag costs: the moved cones, and nothing else. */
  #live(course, ids) {
    this.draft.live(course);
    for (const cone of course.cones) if (ids.has(cone.id)) this.map.moveCone(cone.id, cone.x, cone.y);
  }

  #drop() {
    if (this.frame) {
      cancelAnimationFrame(this.frame);
      this.frame = 0;
      this.#move();
    }
    const kind = this.dragged?.[0];
    this.dragged = null;
    this.tapped = false;
    if (kind === "mark") this.marks.done();
    else if (kind === "spot") this.draft.settle(text("draw.did_lot"));
    else if (kind) this.draft.settle(text(kind === "cone" ? "draw.did_cone" : "draw.did_place"));
  }

  #key(event) {
    const direction = ARROWS[event.key];
    const {cone, entry, thing, spot} = this.choice;
    if (!direction || !(cone || entry || thing)) return false;
    event.preventDefault();
    const step = event.shiftKey ? STEPS.Shift : event.altKey ? STEPS.Alt : STEP;
    const [dx, dy] = this.map.plane.step(direction[0] * step * this.map.plane.scale, -direction[1] * step * this.map.plane.scale);
    const {course} = this.draft;
    if (thing) {
      const spots = spotsOf(course, thing).map(([x, y], i) => (i === spot ? [x + dx, y + dy] : [x, y]));
      this.draft.put(withSpots(course, thing, spots), text("draw.did_lot"));
    } else {
      const ids = cone ? withPointers(course, cone) : ownCones(course, entry);
      this.draft.put(movedCones(course, ids, [dx, dy]), text(cone ? "draw.did_cone" : "draw.did_place"));
    }
    return true;
  }
}

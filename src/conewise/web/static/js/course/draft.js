// The course that is being drawn, with every state before and after it: undo and redo without limit.

/** Holds one course at a time. Tells "change" after every state, "live" while something is dragged. */
export class Draft extends EventTarget {
  constructor(course) {
    super();
    this.now = {course, label: ""};
    this.past = [];
    this.future = [];
    this.kept = course;
  }

  get course() {
    return this.lively ?? this.now.course;
  }

  get isChanged() {
    return this.now.course !== this.kept;
  }

  /** The state that is stored is the present one. */
  keep() {
    this.kept = this.now.course;
    this.#tell("change");
  }

  /** A new state; `label` says what was done. */
  put(course, label) {
    this.lively = null;
    if (course === this.now.course) return;
    this.past.push(this.now);
    this.now = {course, label};
    this.future = [];
    this.#tell("change");
  }

  /** What is being dragged, not a state yet. */
  live(course) {
    this.lively = course;
    this.#tell("live");
  }

  /** The dragged course becomes a state. */
  settle(label) {
    if (this.lively) this.put(this.lively, label);
  }

  undo() {
    this.#step(this.past, this.future);
  }

  redo() {
    this.#step(this.future, this.past);
  }

  #step(from, to) {
    this.lively = null;
    if (!from.length) return;
    to.push(this.now);
    this.now = from.pop();
    this.#tell("change");
  }

  #tell(what) {
    this.dispatchEvent(new Event(what));
  }
}

const round = (value) => Math.round(value * 1000) / 1000;

/** The course with some cones moved by a step; places are kept to the millimetre. */
export function movedCones(course, ids, [dx, dy]) {
  const cones = course.cones.map((cone) => (ids.has(cone.id) ? {...cone, x: round(cone.x + dx), y: round(cone.y + dy), position_sd: 0} : cone));
  return {...course, cones};
}

/** Cones of an entry that no other entry uses, with their pointers. */
export function ownCones(course, entry) {
  const names = (features) => new Set(features.flatMap((feature) => feature.crossings.flat().map((pass) => pass.cone)));
  const others = names(course.features.filter((feature) => feature.id !== entry));
  const own = names(course.features.filter((feature) => feature.id === entry));
  const ids = new Set([...own].filter((id) => !others.has(id)));
  for (const cone of course.cones) if (ids.has(cone.points_to)) ids.add(cone.id);
  return ids;
}

/** A cone with the pointers that lie at it. */
export function withPointers(course, id) {
  return new Set([id, ...course.cones.filter((cone) => cone.points_to === id).map((cone) => cone.id)]);
}

/** The entry that a cone belongs to: the chosen one where it is one of several, else the first. */
export function entryOf(course, cone, chosen = null) {
  const target = course.cones.find((one) => one.id === cone)?.points_to ?? cone;
  const found = course.features.filter((feature) => feature.crossings.some((crossing) => crossing.some((pass) => pass.cone === target)));
  return (found.find((feature) => feature.id === chosen) ?? found[0])?.id ?? null;
}

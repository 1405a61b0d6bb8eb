// Round handles on the map: corners of what is chosen, a handle that moves a whole entry, and one beside a chosen cone.

import {drawn} from "../dom.js";

const REACH = 22; // [px]
const ASIDE = [44, 44]; // from a cone to its handle, so that a finger does not hide the cone [px]

/** Handles of the things that can be dragged now. `places()` gives [{key, at: [east, north], aside, label}]. */
export class Handles {
  constructor(map, places) {
    this.map = map;
    this.places = places;
    this.layer = drawn("g", {class: "handles"});
    map.over.append(this.layer);
    map.extras.push(this);
  }

  update() {
    this.layer.replaceChildren(...this.#seen().flatMap(({x, y, cone, label, isChosen}) => [
      cone ? drawn("path", {class: "tether", d: `M${cone[0]} ${cone[1]}L${x} ${y}`}) : null,
      drawn("circle", {class: isChosen ? "handle chosen" : "handle", r: 11, cx: x, cy: y}, drawn("title", {}, label)),
    ]).filter(Boolean));
  }

  #seen() {
    const {plane} = this.map;
    return this.places().map((place) => {
      const at = plane.at(...place.at);
      if (!place.aside) return {...place, x: at[0], y: at[1]};
      const [x, y] = [at[0] + (at[0] > plane.width - 64 ? -ASIDE[0] : ASIDE[0]), at[1] + (at[1] > plane.height - 64 ? -ASIDE[1] : ASIDE[1])];
      return {...place, x, y, cone: at};
    });
  }

  /** The handle within reach of a finger; null where there is none. */
  pick({x, y}) {
    let best = null;
    let smallest = REACH;
    for (const seen of this.#seen()) {
      const away = Math.hypot(seen.x - x, seen.y - y);
      if (away < smallest) [best, smallest] = [seen, away];
    }
    return best;
  }
}

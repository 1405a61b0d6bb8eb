// Signs of findings beside the cones and numbers that they concern: a filled triangle says stop, an open one look here.

import {drawn} from "../dom.js";

const ASIDE = 15; // from what it concerns [px]

export class Signs {
  constructor(map) {
    this.map = map;
    this.found = new Map();
    this.layer = drawn("g", {class: "signs"});
    map.over.prepend(this.layer);
    map.extras.push(this);
  }

  /** Findings by "cone:id" and "entry:id": {severity, message}. */
  show(found) {
    this.found = found;
    this.layer.replaceChildren(...[...found].map(([key, {severity, message}]) => drawn("g", {class: `sign ${severity}`, "data-about": key},
      drawn("path", {d: "M0 -8L8 6L-8 6Z"}), drawn("path", {class: "bang", d: "M0 -3.5V1.5M0 3.2V4.6"}), drawn("title", {}, message))));
    this.update();
  }

  update() {
    for (const sign of this.layer.children) {
      const place = this.#place(sign.dataset.about);
      sign.setAttribute("visibility", place ? "visible" : "hidden");
      if (place) sign.setAttribute("transform", `translate(${(place[0] - ASIDE).toFixed(1)} ${(place[1] - ASIDE).toFixed(1)})`);
    }
  }

  #place(about) {
    const [kind, id] = [about.slice(0, about.indexOf(":")), about.slice(about.indexOf(":") + 1)];
    if (kind === "cone") {
      const cone = this.map.cones?.get(id);
      return cone ? this.map.plane.at(cone.x, cone.y) : null;
    }
    const number = this.map.numbers.get(id);
    return number?.at ? this.map.plane.at(...number.at) : null;
  }
}

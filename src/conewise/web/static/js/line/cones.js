// What cones cost: a table, dearest first, and rings on the map that are the larger the dearer a cone is.

import {drawn, element} from "../dom.js";
import {number, text} from "../text.js";

const FIRST = 8; // rows that are shown at once
const US = document.documentElement.dataset.units === "us";
const STEP = US ? {step: "4 in", metres: 0.1016} : {step: "10 cm", metres: 0.1};
const ROOM = US ? {unit: "in", factor: 1 / 0.0254} : {unit: "cm", factor: 100};

/** Rows of an answer's cones, dearest first: {id, price, clearance, margin}. */
function pricedCones(answer) {
  const best = new Map((answer.margin_plan?.margins ?? []).map((one) => [one.id, one.margin_m]));
  const cones = answer.cones.map((cone) => ({id: cone.id, price: cone.price_s_per_m * STEP.metres, clearance: cone.clearance_m * ROOM.factor, margin: best.has(cone.id) ? best.get(cone.id) * ROOM.factor : null}));
  return cones.sort((a, b) => b.price - a.price);
}

export class ConePrices {
  constructor({place, lead, map, words, choose}) {
    Object.assign(this, {place, lead, map, words, choose, rows: []});
    this.layer = drawn("g", {class: "prices"});
    map.over.prepend(this.layer);
    map.extras.push(this);
  }

  show(answer) {
    this.rows = pricedCones(answer);
    const priced = this.rows.filter((row) => row.price > 0.0005);
    this.lead.textContent = priced.length ? text("line.cones_lead", STEP) : text("line.no_cones");
    const rest = priced.slice(FIRST);
    this.place.replaceChildren(this.#table(priced.slice(0, FIRST)), ...(rest.length ? [element("details", {}, element("summary", {}, text("line.all_cones")), this.#table(rest))] : []));
    this.layer.replaceChildren(...priced.map((row) => drawn("circle", {class: "price-ring", "data-about": row.id, r: (7 + 40 * Math.sqrt(row.price)).toFixed(1)}, drawn("title", {}, this.told(row.id)))));
    this.update();
  }

  update() {
    for (const ring of this.layer.children) {
      const cone = this.map.cones?.get(ring.dataset.about);
      if (!cone) continue;
      const [x, y] = this.map.plane.at(cone.x, cone.y);
      ring.setAttribute("cx", x.toFixed(1));
      ring.setAttribute("cy", y.toFixed(1));
    }
  }

  /** One cone in words. */
  told(id) {
    const row = this.rows.find((one) => one.id === id);
    if (!row) return this.words(id);
    return text("line.cone_told", {words: this.words(id), price: number(row.price, 3), step: STEP.step, clearance: number(row.clearance, 0), margin: row.margin === null ? "–" : number(row.margin, 0), unit: ROOM.unit});
  }

  #table(rows) {
    const head = [text("line.cone"), text("line.price", STEP), text("line.clearance", ROOM), text("line.margin", ROOM)];
    return element("table", {class: "cone-table"}, element("thead", {}, element("tr", {}, ...head.map((words) => element("th", {scope: "col"}, words)))),
      element("tbody", {}, ...rows.map((row) => element("tr", {}, element("th", {scope: "row"}, element("button", {type: "button", class: "cone-pick", onclick: () => this.choose(row.id)}, this.words(row.id))),
        element("td", {}, number(row.price, 3)), element("td", {}, number(row.clearance, 0)), element("td", {}, row.margin === null ? "–" : number(row.margin, 0))))));
  }
}

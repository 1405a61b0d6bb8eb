// The lot below the course: outline, stop area, obstacles; what is chosen has its handles on the map.

import {element} from "../dom.js";
import {number, text} from "../text.js";
import {takeNumber} from "../typed.js";
import {lengthUnit} from "../units.js";
import {added, hasCorners, obstacleOf, spotsOf, withCorner, without, withObstacle, withSpots} from "./site.js";

const KINDS = ["pole", "kerb", "drain", "workers", "people"];

/** The panel in `place`. `told`: {choose({thing, spot}), middle()}: what is chosen, and where a new thing goes. */
export class Lot {
  constructor(place, {draft, told}) {
    Object.assign(this, {place, draft, told, choice: {}});
    this.things = element("ul", {class: "plain things"});
    const names = {outline: text("draw.outline"), stop: text("draw.stop_area")};
    this.adders = new Map(["outline", "stop", ...KINDS].map((kind) => [kind, element("button", {type: "button", class: "second", onclick: () => this.#add(kind)}, text("draw.add_thing", {thing: names[kind] ?? text(`draw.${kind}`)}))]));
    place.append(this.things, element("div", {class: "row"}, ...this.adders.values()));
  }

  show() {
    const {site, stop} = this.draft.course;
    this.adders.get("outline").hidden = site.outline.length > 0;
    this.adders.get("stop").hidden = stop !== null;
    const things = [...(site.outline.length ? ["outline"] : []), ...(stop ? ["stop"] : []), ...site.obstacles.map((one) => `obstacle:${one.id}`)];
    const focused = document.activeElement?.getAttribute("data-key");
    this.things.replaceChildren(...things.map((thing) => this.#line(thing)));
    if (focused) this.things.querySelector(`[data-key="${CSS.escape(focused)}"]`)?.focus();
  }

  choose(choice) {
    if (choice.thing === this.choice.thing && choice.spot === this.choice.spot) return;
    this.choice = choice;
    this.show();
  }

  #name(thing) {
    if (thing === "outline") return text("draw.outline");
    if (thing === "stop") return text("draw.stop_area");
    return thing.slice("obstacle:".length);
  }

  #line(thing) {
    const isChosen = this.choice.thing === thing;
    const button = element("button", {type: "button", class: "entry", "data-key": thing, "aria-expanded": String(isChosen), onclick: () => this.told.choose({thing: isChosen ? null : thing})}, this.#name(thing));
    return element("li", {class: isChosen ? "chosen" : null}, button, isChosen ? this.#panel(thing) : null);
  }

  #panel(thing) {
    const {course} = this.draft;
    const spots = spotsOf(course, thing);
    const spot = Math.min(this.choice.spot ?? 0, Math.max(spots.length - 1, 0));
    const button = (label, key, go) => element("button", {type: "button", class: "second", "data-key": `${thing}|${key}`, onclick: go}, label);
    const buttons = [button(text("draw.remove"), "remove", () => { this.#put(without(this.draft.course, thing)); this.told.choose({}); })];
    if (hasCorners(course, thing)) {
      buttons.unshift(button(text("draw.corner"), "corner", () => { this.#put(withSpots(this.draft.course, thing, withCorner(spots, spot))); this.told.choose({thing, spot: spot + 1}); }));
      if (spots.length > 3) buttons.splice(1, 0, button(text("draw.corner_off"), "corner-off", () => { this.#put(withSpots(this.draft.course, thing, spots.toSpliced(spot, 1))); this.told.choose({thing, spot: Math.max(spot - 1, 0)}); }));
    }
    const note = spots.length ? element("p", {class: "note"}, text("draw.spot", {thing: this.#name(thing)})) : null;
    return element("div", {class: "entry-panel"}, note, ...this.#fields(thing), element("div", {class: "row"}, ...buttons));
  }

  #fields(thing) {
    const {course} = this.draft;
    const {unit, factor} = lengthUnit();
    const length = (label, key, value, put) => element("label", {}, text(`draw.${label}`, {unit}), element("input", {value: number(value * factor, 2), inputmode: "decimal", name: key, "data-key": `${thing}|${key}`, autocomplete: "off", onchange: (event) => takeNumber(event.target, (typed) => put(typed / factor), {isNeeded: true, above: 0})}));
    if (thing === "stop") {
      const kind = element("select", {"data-key": "stop|kind", onchange: (event) => this.#put({...this.draft.course, stop: {...this.draft.course.stop, kind: event.target.value}})},
        element("option", {value: "box", selected: course.stop.kind === "box"}, text("draw.stop_box")), element("option", {value: "lane", selected: course.stop.kind === "lane"}, text("draw.stop_lane")));
      return [element("label", {}, text("draw.stop_kind"), kind), length("stop_length", "length", course.stop.length, (value) => this.#put({...this.draft.course, stop: {...this.draft.course.stop, length: value}}))];
    }
    const one = obstacleOf(course, thing);
    if (!one?.centre) return [];
    return [length("radius", "radius", one.radius, (value) => this.#put(withObstacle(this.draft.course, thing, (old) => ({...old, radius: value}))))];
  }

  #add(kind) {
    const names = Object.fromEntries(KINDS.map((one) => [one, text(`draw.${one}`)]));
    const [course, thing] = added(this.draft.course, kind, this.told.middle(), names);
    this.#put(course);
    this.told.choose({thing, spot: 0});
  }

  #put(course) {
    this.draft.put(course, text("draw.did_lot"));
  }
}

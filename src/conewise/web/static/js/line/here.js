// What the car does at the cursor: feature, time, distance, speed, gear and pedals.

import {element} from "../dom.js";
import {number, text} from "../text.js";
import {lengthUnit, speedUnit} from "../units.js";

export class HereNow {
  constructor(facts, pedals) {
    this.facts = new Map(["feature", "time", "distance", "speed", "gap"].map((key) => [key, element("dd", {}, "–")]));
    facts.append(...[...this.facts].map(([key, value]) => element("div", {hidden: key === "gap"}, element("dt", {}, text(`line.here_${key}`)), value)));
    this.gear = element("b", {class: "gear-now"}, "–");
    this.bars = new Map(["throttle", "brake"].map((key) => [key, {bar: element("i"), value: element("span", {class: "amount"}, "–")}]));
    pedals.append(element("div", {class: "pedals"}, element("span", {}, text("line.gear")), this.gear, element("span"),
      ...[...this.bars].flatMap(([key, {bar, value}]) => [element("span", {}, text(`line.${key}`)), element("div", {class: `pedal ${key}`}, bar), value])));
  }

  /** The car of `run` at station `s`; `gap`: by how much the other car is later, or null. */
  show(run, s, gap) {
    const now = run.at(s);
    const feature = run.featureAt(s);
    const length = lengthUnit();
    const speed = speedUnit();
    this.facts.get("feature").textContent = feature ? `${feature.number} ${feature.id}` : "–";
    this.facts.get("time").textContent = `${number(now.t, 2)} s`;
    this.facts.get("distance").textContent = `${number(now.s * length.factor, 0)} ${length.unit}`;
    this.facts.get("speed").textContent = `${number(now.speed, 1)} ${speed.unit}`;
    this.facts.get("gap").closest("div").hidden = gap === null;
    if (gap !== null) this.facts.get("gap").textContent = text(gap > 0 ? "line.gap_behind" : "line.gap_ahead", {gap: number(Math.abs(gap), 2)});
    this.gear.textContent = now.gear ? String(now.gear) : "–";
    const share = {throttle: Math.max(now.command ?? 0, 0), brake: Math.max(-(now.command ?? 0), 0)};
    for (const [key, {bar, value}] of this.bars) {
      bar.style.transform = `scaleX(${(share[key] / 100).toFixed(3)})`;
      value.textContent = now.command === null ? "–" : `${number(share[key], 0)} %`;
    }
  }
}

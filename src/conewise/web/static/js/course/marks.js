// Marks of a size of their own whatever the scale: cones by shape with the side to pass on, numbers of the features.

import {drawn} from "../dom.js";
import {conesById, middleOf} from "./ground.js";

const HALF = 4.5; // half size of a cone [px]
const TICK = 9; // length of the tick on the side where the car goes [px]
const SIGNS = {left: [1], right: [-1], either: [1, -1]};
const DIRECTIONS = 12;
const RINGS = [1.8, 2.7, 3.6]; // of a number around its cone, in radii of its ring

/** A square for a standing cone, a dart for a pointer; ticks on the side of the cone on which the car goes. */
export function coneMark(cone, sides) {
  const group = drawn("g", {class: cone.points_to === null ? "cone standing" : "cone pointer", "data-cone": cone.id});
  if (cone.points_to === null) {
    for (const sign of sides) group.append(drawn("path", {class: "tick", "data-sign": sign, d: `M0 ${-sign * HALF}V${-sign * (HALF + TICK)}`}));
    group.append(drawn("rect", {class: "body", x: -HALF, y: -HALF, width: 2 * HALF, height: 2 * HALF}));
  } else group.append(drawn("path", {class: "body", d: `M${1.7 * HALF} 0L${-HALF} ${HALF}L${-HALF} ${-HALF}Z`}));
  group.append(drawn("title", {}, cone.id));
  return group;
}

/** Where ticks of every cone point: sides over all its passes; cones of gates have none. */
export function sidesOf(course) {
  const sides = new Map();
  for (const feature of course.features) {
    for (const crossing of feature.crossings) {
      if (crossing.length > 1) continue;
      const {cone, pass_side: side} = crossing[0];
      sides.set(cone, [...new Set([...(sides.get(cone) ?? []), ...SIGNS[side]])]);
    }
  }
  return sides;
}

/** Heading of the way where it comes nearest to a cone; of pointers, the direction of their tip. [rad] */
export function headingsOf(course, path) {
  const cones = conesById(course);
  const found = new Map();
  for (const cone of course.cones) {
    const target = cones.get(cone.points_to);
    if (target) found.set(cone.id, Math.atan2(target.y - cone.y, target.x - cone.x));
    else found.set(cone.id, headingAt(path, cone));
  }
  return found;
}

function headingAt(path, {x, y}) {
  let best = 0;
  let smallest = Infinity;
  path.forEach((point, i) => {
    const away = (point[0] - x) ** 2 + (point[1] - y) ** 2;
    if (away < smallest) [best, smallest] = [i, away];
  });
  const [before, after] = [path[Math.max(best - 1, 0)], path[Math.min(best + 1, path.length - 1)]];
  return before ? Math.atan2(after[1] - before[1], after[0] - before[0]) : 0;
}

/** A number in a ring, by the class of what it stands for. */
export function numberMark(number, entry) {
  return drawn("g", {class: "number", "data-entry": entry}, drawn("circle", {r: 11}), drawn("text", {"text-anchor": "middle", "dominant-baseline": "central"}, String(number)));
}

/**
 * Places for the numbers of all features, each beside its first cones and clear of what is there: {at, isCrowded}.
 *
 * `radius`: of a number's ring. [px] A number is crowded where it would lie on another.
 */
export function numberPlaces(course, path, plane, radius) {
  const cones = conesById(course);
  const taken = course.cones.map((cone) => plane.at(cone.x, cone.y));
  for (let i = 0; i < path.length; i += 3) taken.push(plane.at(...path[i]));
  const visible = taken.filter(([x, y]) => x > -40 && y > -40 && x < plane.width + 40 && y < plane.height + 40);
  const numbers = [];
  return course.features.map((feature) => {
    const [x, y] = plane.at(...middleOf(feature.crossings[0], cones));
    let best = [x, y - RINGS[0] * radius];
    let most = -Infinity;
    for (const ring of RINGS.map((radii) => radii * radius)) {
      for (let k = 0; k < DIRECTIONS; k += 1) {
        const place = [x + ring * Math.cos((k * 2 * Math.PI) / DIRECTIONS), y + ring * Math.sin((k * 2 * Math.PI) / DIRECTIONS)];
        const beside = clearance(place, numbers);
        const score = Math.min(2.2 * radius, clearance(place, visible), beside - 2) - ring / 8 - outside(place, plane) - (beside < 2 * radius ? 50 : 0);
        if (score > most) [best, most] = [place, score];
      }
    }
    const isCrowded = clearance(best, numbers) < 2 * radius;
    if (!isCrowded) numbers.push(best);
    return {at: best, isCrowded};
  });
}

function clearance([x, y], points) {
  let least = Infinity;
  for (const [px, py] of points) least = Math.min(least, (px - x) ** 2 + (py - y) ** 2);
  return Math.sqrt(least);
}

function outside([x, y], {width, height}) {
  return x < 14 || y < 14 || x > width - 14 || y > height - 14 ? 100 : 0;
}

// What lies on the lot, in metres: outline, patches, obstacles, stop area, gates, the way.

import {drawn} from "../dom.js";

/** Path data through points; closed where it is an outline. */
export function pathThrough(points, isClosed = false) {
  if (!points.length) return "";
  return `M${points.map(([x, y]) => `${x} ${y}`).join("L")}${isClosed ? "Z" : ""}`;
}

/** Every cone by its id. */
export function conesById(course) {
  return new Map(course.cones.map((cone) => [cone.id, cone]));
}

/** Middle of a crossing. */
export function middleOf(crossing, cones) {
  const places = crossing.map((pass) => cones.get(pass.cone));
  return [places.reduce((sum, cone) => sum + cone.x, 0) / places.length, places.reduce((sum, cone) => sum + cone.y, 0) / places.length];
}

/** Points of the course alone, without the lot around it. */
export function courseExtentOf(course, path = []) {
  return [...course.cones.map((cone) => [cone.x, cone.y]), ...path];
}

/** Points that a map of the course and of its lot has to show. */
export function extentOf(course, path = []) {
  const {site} = course;
  const points = courseExtentOf(course, path);
  for (const one of site.obstacles) points.push(...(one.centre ? [one.centre] : one.outline));
  points.push(...site.outline, ...site.patches.flatMap((patch) => patch.outline), ...(course.stop?.outline ?? []));
  return points;
}

/** Elements of the lot and of the course's lines. */
export function groundOf(course, path) {
  const {site, stop} = course;
  const cones = conesById(course);
  const parts = [];
  if (site.outline.length) parts.push(drawn("path", {class: "edge", d: pathThrough(site.outline, true)}));
  for (const patch of site.patches) parts.push(drawn("path", {class: "patch", d: pathThrough(patch.outline, true)}));
  for (const one of site.obstacles) parts.push(obstacle(one));
  if (stop?.outline.length) parts.push(drawn("path", {class: "stop", d: pathThrough(stop.outline, true)}));
  if (path?.length) parts.push(drawn("path", {class: "way", d: pathThrough(path)}));
  for (const feature of course.features) {
    const kind = feature.kind === "start" || feature.kind === "finish" ? "beam" : "gate";
    for (const crossing of feature.crossings) {
      if (crossing.length < 2) continue;
      const ends = [crossing[0], crossing.at(-1)].map((pass) => [cones.get(pass.cone).x, cones.get(pass.cone).y]);
      parts.push(drawn("path", {class: kind, "data-entry": feature.id, d: pathThrough(ends)}));
    }
  }
  return parts;
}

function obstacle(one) {
  const label = drawn("title", {}, `${one.id} (${one.kind})`);
  const at = {class: "obstacle", "data-obstacle": one.id};
  if (!one.centre) return drawn("path", {...at, d: pathThrough(one.outline, true)}, label);
  return drawn("circle", {...at, cx: one.centre[0], cy: one.centre[1], r: Math.max(one.radius, 0.3)}, label);
}

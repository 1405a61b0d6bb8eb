// The course as the driver sees it from the start: up the sheet is ahead. Filled square: cone on your left; open: on your right.
import {drawn} from "../dom.js";

const PAD = 14; // around the course, with room for numbers [m]
const CLOSE = 14; // around a feature that is looked at [m]
const USUAL = {width: 358, height: 400}; // of the sheet on a phone, before it is shown [px]

/** Points of the plan turned so that the way ahead at the start is up; y counts downwards as on a screen. */
export function turner(heading) {
  const [c, s] = [Math.cos(Math.PI / 2 - heading), Math.sin(Math.PI / 2 - heading)];
  return ([x, y]) => [c * x - s * y, -(s * x + c * y)];
}

function frame(points, pad) {
  const xs = points.map((point) => point[0]);
  const ys = points.map((point) => point[1]);
  const [left, top] = [Math.min(...xs) - pad, Math.min(...ys) - pad];
  return {left, top, width: Math.max(...xs) + pad - left, height: Math.max(...ys) + pad - top};
}

// From the plan to a sheet of a size in pixels, in its middle.
function sheet(box, size) {
  const scale = Math.min(size.width / box.width, size.height / box.height);
  const [x0, y0] = [(size.width - scale * box.width) / 2, (size.height - scale * box.height) / 2];
  return ([x, y]) => [x0 + scale * (x - box.left), y0 + scale * (y - box.top)];
}

const spot = (point) => point.map((value) => value.toFixed(1)).join(" ");
const path = (points) => (points.length ? `M${points.map(spot).join("L")}` : "");

/** A drawing of the course with `look(number)` for one feature, or for the whole course without a number. */
export function walkMap(course, words) {
  const turn = turner(course.heading_rad);
  const line = course.line.map(turn);
  const cones = course.cones.map((cone) => ({...cone, at: turn([cone.x, cone.y])}));
  const whole = frame([...line, ...cones.map((cone) => cone.at)], PAD);
  const svg = drawn("svg", {class: "walk-map", role: "img", "aria-label": words});
  let number = null;

  function draw() {
    const size = {width: svg.clientWidth || USUAL.width, height: svg.clientHeight || USUAL.height};
    const type = parseFloat(getComputedStyle(svg).fontSize) || 14;
    const feature = course.features.find((one) => one.number === number);
    const own = feature ? within(line, course, feature) : [];
    const close = feature && frame([...own, ...cones.filter((cone) => cone.feature === feature.id).map((cone) => cone.at)], CLOSE);
    const place = sheet(close ?? whole, size);
    const placed = cones.map((cone) => ({...cone, at: place(cone.at)}));
    const way = line.map(place);
    const towards = new Map(placed.map((cone) => [cone.id, cone.at]));
    svg.setAttribute("viewBox", `0 0 ${size.width} ${size.height}`);
    svg.replaceChildren(
      drawn("path", {class: "stretch", d: path(own.map(place))}),
      drawn("path", {class: "way", d: path(way)}),
      ...placed.map((cone) => (cone.standing ? square(cone, 4) : dart(cone, towards.get(cone.points_to), 7))),
      ...labels(course, placed, way, {type, chosen: number, size}),
    );
  }

  function look(wanted = null) {
    number = wanted;
    draw();
  }

  look();
  new ResizeObserver(draw).observe(svg);
  return {svg, look};
}

function within(line, course, feature) {
  const n = line.length;
  return line.filter((_, i) => {
    const station = (course.length_m * i) / (n - 1);
    return station >= feature.start_m && station <= feature.end_m;
  });
}

function square(cone, half) {
  const [x, y] = cone.at;
  return drawn("rect", {class: `cone ${cone.side}`, x: x - half, y: y - half, width: 2 * half, height: 2 * half});
}

function dart(cone, target, size) {
  const [x, y] = cone.at;
  const [tx, ty] = target ?? [x, y - 1];
  const angle = (Math.atan2(ty - y, tx - x) * 180) / Math.PI;
  return drawn("path", {class: "dart", d: `M${size} 0L${-size} ${size * 0.6}L${-size} ${-size * 0.6}Z`, transform: `translate(${spot([x, y])}) rotate(${angle.toFixed(1)})`});
}

// Numbers of the features, each beside its first cone where there is most room on the sheet.
function labels(course, cones, way, {type, chosen, size}) {
  const radius = 0.8 * type;
  const taken = [...cones.map((cone) => cone.at), ...way];
  const room = (at) => Math.min(...taken.map((other) => Math.hypot(other[0] - at[0], other[1] - at[1])));
  const isOn = ([x, y]) => x > radius && y > radius && x < size.width - radius && y < size.height - radius;
  const around = ([x, y], far, n) => Array.from({length: n}, (_, k) => [x + far * Math.cos((2 * Math.PI * k) / n), y + far * Math.sin((2 * Math.PI * k) / n)]);
  const best = (places) => places.reduce((a, b) => (Math.min(room(b), 2 * radius) > Math.min(room(a), 2 * radius) ? b : a));
  return course.features.flatMap((feature) => {
    const first = cones.find((cone) => cone.feature === feature.id)?.at ?? way[0];
    const places = [1.7, 2.6, 3.6].flatMap((far) => around(first, far * radius, 16)).filter(isOn);
    if (!places.length) return [];
    const place = best(places);
    taken.push(...around(place, radius, 8));
    return [drawn(
      "g",
      {class: feature.number === chosen ? "number chosen" : "number"},
      drawn("circle", {class: "box", cx: place[0], cy: place[1], r: radius}),
      drawn("text", {x: place[0], y: place[1]}, String(feature.number)),
    )];
  });
}

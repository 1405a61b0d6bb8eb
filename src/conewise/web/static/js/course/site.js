// What lies on the lot beside the cones, as things to choose, move, add and remove: outline, obstacles, stop area.

const round = (value) => Math.round(value * 100) / 100;
const rounded = (points) => points.map((point) => point.map(round));
const MARGIN = 20; // of a new outline around what is there [m]

/** Points of a thing that can be dragged. A thing is "outline", "stop" or "obstacle:" and its name. */
export function spotsOf(course, thing) {
  if (thing === "outline") return course.site.outline;
  if (thing === "stop") return course.stop?.outline ?? [];
  const one = obstacleOf(course, thing);
  if (!one) return [];
  return one.centre ? [one.centre] : one.outline;
}

export function obstacleOf(course, thing) {
  return course.site.obstacles.find((one) => `obstacle:${one.id}` === thing);
}

/** The course with other points of a thing. */
export function withSpots(course, thing, spots) {
  const points = rounded(spots);
  if (thing === "outline") return withSite(course, {outline: points});
  if (thing === "stop") return {...course, stop: {...course.stop, outline: points}};
  return withObstacle(course, thing, (one) => (one.centre ? {...one, centre: points[0]} : {...one, outline: points}));
}

function withSite(course, parts) {
  return {...course, site: {...course.site, ...parts}};
}

/** The course with an obstacle made anew by `make`. */
export function withObstacle(course, thing, make) {
  return withSite(course, {obstacles: course.site.obstacles.map((one) => (`obstacle:${one.id}` === thing ? make(one) : one))});
}

/** The course with a thing more, and how the thing is called. */
export function added(course, kind, [x, y], names) {
  if (kind === "outline") {
    const [east, north] = [course.cones.map((cone) => cone.x), course.cones.map((cone) => cone.y)];
    const [left, right, low, high] = [Math.min(...east) - MARGIN, Math.max(...east) + MARGIN, Math.min(...north) - MARGIN, Math.max(...north) + MARGIN];
    return [withSite(course, {outline: rounded([[left, low], [right, low], [right, high], [left, high]])}), "outline"];
  }
  if (kind === "stop") return [{...course, stop: {kind: "box", length: 30, outline: []}}, "stop"];
  const taken = new Set(course.site.obstacles.map((one) => one.id));
  let number = 1;
  while (taken.has(`${names[kind]} ${number}`)) number += 1;
  const id = `${names[kind]} ${number}`;
  const isArea = kind === "workers" || kind === "people";
  const shape = isArea
    ? {outline: rounded([[x - 2, y - 2], [x + 2, y - 2], [x + 2, y + 2], [x - 2, y + 2]]), centre: null, radius: 0}
    : {outline: [], centre: [round(x), round(y)], radius: 0.3};
  return [withSite(course, {obstacles: [...course.site.obstacles, {id, kind, ...shape}]}), `obstacle:${id}`];
}

/** The course without a thing. */
export function without(course, thing) {
  if (thing === "outline") return withSite(course, {outline: []});
  if (thing === "stop") return {...course, stop: null};
  return withSite(course, {obstacles: course.site.obstacles.filter((one) => `obstacle:${one.id}` !== thing)});
}

/** Points with one more half way to the next. */
export function withCorner(spots, index) {
  const [a, b] = [spots[index], spots[(index + 1) % spots.length]];
  return spots.toSpliced(index + 1, 0, [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]);
}

/** Whether a thing is an outline of corners. */
export function hasCorners(course, thing) {
  return thing === "outline" || Boolean(obstacleOf(course, thing) && !obstacleOf(course, thing).centre);
}

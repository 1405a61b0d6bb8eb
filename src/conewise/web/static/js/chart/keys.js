// The keyboard on a chart: arrows move the cursor, + and - zoom around it, Home and End go to the ends, 0 shows all.

import {nearestIndex} from "./numbers.js";

const ZOOM = 1.5;

/** Let the keys of a focused drawing steer the shared axis; `places` gives the points between which the cursor steps. */
export function steer(element, along, places, signal) {
  element.setAttribute("aria-keyshortcuts", "ArrowLeft ArrowRight Home End + - 0");
  const limits = () => {
    element.setAttribute("aria-valuemin", along.low.toFixed(1));
    element.setAttribute("aria-valuemax", along.high.toFixed(1));
  };
  limits();
  along.addEventListener("window", limits, {signal});

  function stepped(by) {
    const list = places();
    const now = along.at ?? along.from;
    const index = nearestIndex(list, now);
    return list[Math.min(Math.max(index + by, 0), list.length - 1)];
  }

  const middle = () => {
    const at = along.at ?? along.from;
    return at >= along.from && at <= along.to ? at : (along.from + along.to) / 2;
  };

  element.addEventListener("keydown", (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    const step = event.shiftKey ? 10 : 1;
    const stretch = (along.to - along.from) / 10;
    const acts = {
      ArrowRight: () => along.point(stepped(step), {follow: true}),
      ArrowLeft: () => along.point(stepped(-step), {follow: true}),
      ArrowUp: () => along.point(stepped(step), {follow: true}),
      ArrowDown: () => along.point(stepped(-step), {follow: true}),
      PageDown: () => along.point((along.at ?? along.from) + stretch, {follow: true}),
      PageUp: () => along.point((along.at ?? along.from) - stretch, {follow: true}),
      Home: () => along.point(along.low, {follow: true}),
      End: () => along.point(along.high, {follow: true}),
      "+": () => along.zoom(ZOOM, middle()),
      "=": () => along.zoom(ZOOM, middle()),
      "-": () => along.zoom(1 / ZOOM, middle()),
      "0": () => along.show(along.low, along.high),
    };
    if (!(event.key in acts)) return;
    event.preventDefault();
    acts[event.key]();
  });
}

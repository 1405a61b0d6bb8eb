// The run card: read in the queue and put away for the run.
import {element} from "../dom.js";
import {number, text} from "../text.js";

/** The card of a driver; `drill` says how well the course is known, in words. */
export function showCard(root, pack, driver, {drill, choose}) {
  const {entries} = pack.list;
  const people = new Map(entries.filter((entry) => pack.run_cards[entry.driver]).map((entry) => [entry.driver, entry]));
  const chosen = people.has(driver) ? driver : people.keys().next().value;
  const plan = pack.run_cards[chosen];
  const select = element(
    "select",
    {name: "driver", onchange: (event) => choose(event.target.value)},
    ...[...people.values()].map((entry) => element("option", {value: entry.driver, selected: entry.driver === chosen}, entry.name)),
  );
  root.replaceChildren(element("label", {class: "looker"}, text("field.whose"), select));
  if (!plan) return;
  const [next, ...later] = plan.runs;
  root.append(
    element("p", {class: "kicker"}, text("field.car", {name: plan.name, car: plan.car})),
    next
      ? element("h2", {class: "card-next"}, text("field.run_at", {run: next.run, pace: number(100 * next.pace, 0)}))
      : element("h2", {class: "card-next"}, text("field.none_left")),
    ...(next ? [element("p", {class: "card-focus"}, next.focus)] : []),
    ...(next?.key_speeds.length ? [element("p", {}, next.key_speeds.map((speed) => `${speed.feature} ${number(speed.slowest_speed_m_per_s * pack.speed_factor, 0)} ${pack.speed_unit}`).join(", "))] : []),
    element("p", {}, drill),
    ...later.map((run) => element("p", {class: "note"}, `${text("field.run_at", {run: run.run, pace: number(100 * run.pace, 0)})}: ${run.focus}`)),
    element("p", {class: "note"}, pack.caution),
  );
}

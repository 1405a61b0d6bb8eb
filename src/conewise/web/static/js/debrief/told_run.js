// What a recording alone says of a run: its time and that of its features, before anything is solved.
import {element} from "../dom.js";
import {number, text} from "../text.js";

/** A block with the time of a run and a table of its features. */
export function toldRun(told) {
  const names = ["told_time", "told_entry", "told_slowest", "told_exit"].map((name) => text(`debrief.${name}`));
  const cell = (value, digits, k) => element("td", {class: "amount", "data-label": names[k]}, number(value, digits));
  const rows = told.rows.map((row, i) => element("tr", {},
    element("th", {scope: "row"}, `${i + 1} ${row.name}`),
    cell(row.time, 2, 0),
    ...row.speeds.map((speed, k) => cell(speed, 0, k + 1)),
  ));
  return element("div", {class: "told-run"},
    element("p", {class: "told-time"}, element("b", {}, text("debrief.told_run", {n: told.run, time: number(told.time, 2)})), " ",
      element("span", {class: "note"}, text("debrief.told_spread", {spread: number(told.spread, 2)}))),
    element("p", {class: "note"}, text("debrief.told_note", {unit: told.speed_unit})),
    element("table", {class: "stacked gaps four"},
      element("thead", {}, element("tr", {},
        element("th", {scope: "col"}, text("debrief.feature")),
        ...names.map((name) => element("th", {scope: "col", class: "amount"}, name)))),
      element("tbody", {}, ...rows)));
}

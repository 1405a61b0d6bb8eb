// Build-up: a slider over the paces that were solved, with the time and the slowest speeds of each.

import {element} from "../dom.js";
import {number, text} from "../text.js";
import {speedUnit} from "../units.js";

export function showPace(place, answer, words) {
  const rows = answer.build_up;
  if (!rows.length) return;
  const full = rows.at(-1);
  const slider = element("input", {type: "range", class: "pace-slider", min: 0, max: rows.length - 1, step: 1, value: Math.max(rows.findIndex((row) => row.pace === answer.pace), 0)});
  const time = element("p", {class: "pace-time", role: "status"});
  const cost = element("p", {class: "note"});
  const list = element("ul", {class: "pace-speeds"});
  const speed = speedUnit();
  const show = () => {
    const row = rows[Number(slider.value)];
    const gap = row.time_s - full.time_s;
    slider.setAttribute("aria-valuetext", text("line.pace_row", {pace: number(row.pace, 2)}));
    time.replaceChildren(`${number(row.time_s, 2)} s `, element("span", {class: "note"}, text("line.pace_row", {pace: number(row.pace, 2)})));
    cost.textContent = row === full ? text("line.pace_full") : text("line.pace_cost", {gap: number(gap, 2)});
    list.replaceChildren(...row.slowest.map((one) => element("li", {}, element("span", {}, words(one.feature)), element("b", {}, number(one.speed_m_s * speed.factor, 0)))));
  };
  slider.addEventListener("input", show);
  place.replaceChildren(element("label", {}, text("line.pace_label"), slider), time, cost, element("h3", {}, text("line.slowest", {unit: speed.unit})), list);
  show();
}

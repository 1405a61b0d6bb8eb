// Findings beside what they are about: at the cones and numbers of the map, and in a list that leads there.

import {element} from "../dom.js";
import {text} from "../text.js";

/** Fill the list, say the verdict, and mark cones and entries on the map. */
export function showFindings({list, verdict, map, signs, choose}, drawn) {
  const {findings} = drawn;
  verdict.textContent = findings.length ? "" : text("draw.no_findings");
  list.replaceChildren(...findings.map((one) => {
    const words = [element("b", {}, text(`course.${one.severity}`)), ` ${one.message} `, element("span", {class: "note"}, one.where)];
    const target = one.cones.length ? {cone: one.cones[0], entry: one.entries[0] ?? null} : one.entries.length ? {entry: one.entries[0]} : one.obstacles.length ? {thing: `obstacle:${one.obstacles[0]}`} : null;
    if (!target) return element("li", {class: one.severity}, ...words);
    return element("li", {class: one.severity}, element("button", {type: "button", class: "finding", onclick: () => { choose(target); map.box.scrollIntoView({block: "nearest"}); }}, ...words));
  }));
  signs.show(worstOf(findings));
}

/** The gravest finding about every cone, and about entries of which no cone is named; notes have no sign. */
function worstOf(findings) {
  const worst = new Map();
  for (const one of findings) {
    const keys = one.cones.length ? one.cones.map((id) => `cone:${id}`) : one.entries.map((id) => `entry:${id}`);
    for (const key of one.severity === "note" ? [] : keys) {
      if (one.severity === "stop" || !worst.has(key)) worst.set(key, {severity: one.severity, message: one.message});
    }
  }
  return worst;
}

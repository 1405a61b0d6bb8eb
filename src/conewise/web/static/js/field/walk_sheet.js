// The walk sheet on the phone: the map, and every feature in words; a tap on one shows it close by.
import {element} from "../dom.js";
import {text} from "../text.js";
import {walkMap} from "./walk_map.js";

export function showWalk(root, course) {
  if (!course) {
    root.replaceChildren(element("p", {}, text("field.no_course")));
    return;
  }
  const {svg, look} = walkMap(course, text("field.map_of", {name: course.name}));
  let chosen = null;
  const rows = course.features.map((feature) => {
    const row = element(
      "button",
      {type: "button", class: "feature", "aria-pressed": "false", onclick: () => choose(chosen === feature.number ? null : feature.number)},
      element("strong", {}, String(feature.number)),
      element("span", {}, feature.words),
    );
    return {number: feature.number, row};
  });
  const whole = element("button", {type: "button", class: "second glove", hidden: true, onclick: () => choose(null)}, text("field.whole"));
  function choose(number) {
    chosen = number;
    look(number);
    whole.hidden = number === null;
    for (const one of rows) one.row.setAttribute("aria-pressed", String(one.number === number));
    if (number !== null) svg.scrollIntoView({block: "nearest"});
  }
  root.replaceChildren(
    element("div", {class: "map-room"}, svg),
    whole,
    element("p", {class: "note"}, text("field.map_key")),
    element("div", {class: "features"}, ...rows.map((one) => one.row)),
  );
}

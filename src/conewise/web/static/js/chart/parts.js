// Pieces of the page around a drawing: the caption with quantity and unit, the numbers as a table.

import {element} from "../dom.js";

/** Quantity and unit of an axis: "Speed [km/h]". */
export function axisName({quantity, unit}) {
  return unit ? `${quantity} [${unit}]` : quantity;
}

/** A table that is written when somebody opens it. */
export function numbersTable(title, label, rows) {
  const table = element("table", {class: "chart-numbers"});
  const details = element("details", {class: "chart-table"}, element("summary", {}, label), table);
  details.addEventListener("toggle", () => details.open && fill());
  function fill() {
    const [head, ...body] = rows();
    table.replaceChildren(
      element("caption", {class: "unseen"}, title),
      element("thead", {}, element("tr", {}, ...head.map((name) => element("th", {scope: "col"}, name)))),
      element("tbody", {}, ...body.map(([first, ...rest]) => element("tr", {}, element("th", {scope: "row"}, first), ...rest.map((text) => element("td", {}, text))))),
    );
  }
  details.refresh = () => details.open && fill();
  return details;
}

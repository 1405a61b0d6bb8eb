// The drill on the laptop; the phone has it on its own page.
import {data} from "../dom.js";
import {Drill} from "../field/drill.js";

export function start(main) {
  const course = data("course");
  if (course) new Drill(main.querySelector("[data-part=drill]"), course);
}

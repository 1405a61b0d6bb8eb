// One course: its list and its map, what is chosen in one is shown in the other.
import {CourseMap} from "../course/map.js";
import {entryOf} from "../course/draft.js";
import {data} from "../dom.js";
import {text} from "../text.js";

export function start() {
  const record = data("course");
  const told = document.getElementById("told");
  const list = document.getElementById("list");
  const words = Object.fromEntries(["label", "larger", "smaller", "all"].map((key) => [key, text(`map.${key}`)]));
  const map = new CourseMap(document.getElementById("map"), {words, mayTurn: true, mayFill: true, told: {choose: ({cone}) => choose({cone, entry: cone ? entryOf(record.course, cone) : null})}});
  map.show(record.course, record.path_m);

  function choose(choice) {
    map.choose(choice);
    const entry = record.entries.find((one) => one.id === choice.entry);
    told.textContent = [record.cone_words[choice.cone], entry?.words].filter(Boolean).join("; ");
    for (const button of list.querySelectorAll(".entry")) button.closest("li").classList.toggle("chosen", button.dataset.entry === choice.entry);
  }
  list.addEventListener("click", (event) => {
    const button = event.target.closest(".entry");
    if (button) choose({entry: button.dataset.entry, cone: null});
  });
}

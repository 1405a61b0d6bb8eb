// The debrief: recordings come in, the answer stays until somebody asks for the next one.
import {Queue} from "../debrief/queue.js";
import {showRun} from "../debrief/run_view.js";
import {data, element} from "../dom.js";
import {clearRefusals, Refusal, showRefusal} from "../request.js";
import {text} from "../text.js";
import {numberIn} from "../typed.js";

export function start(main) {
  const place = (id) => document.getElementById(id);
  const given = data("asked");
  const entered = data("entered");
  const form = place("send-form");
  const fields = form.elements;

  /** What a recording is of, as the form says it. */
  function asked() {
    const person = fields.person.value;
    return {...given, person, car: entered[person]?.car ?? "", course: fields.course.value, car_file: fields.car_file.value, antenna: fields.antenna.value, sensor: fields.sensor.value};
  }
  fields.person.addEventListener("change", () => {
    const file = entered[fields.person.value]?.car_file;
    if (file) fields.car_file.value = file;
  });

  function shown(job, row) {
    const there = new URL(location.href);
    there.searchParams.set("job", job.id);
    there.hash = "answer";
    if (!data("lines") && queue.open.length === 0) location.assign(there);
    else row.line.append(element("a", {class: "button glove", href: there.href}, text("debrief.show")));
  }
  const queue = new Queue(place("queue"), {asked, shown});
  queue.adopt(data("asks"), data("asks-of"));

  const send = async (files) => { for (const file of files) await queue.send(file); };
  const files = place("files");
  const sendChosen = () => { sendAll(files.files); files.value = ""; };
  files.addEventListener("change", sendChosen);
  const drop = place("drop");
  for (const [kind, isOver] of [["dragover", true], ["dragleave", false], ["drop", false]]) {
    drop.addEventListener(kind, (event) => {
      event.preventDefault();
      drop.classList.toggle("over", isOver);
      if (kind === "drop") sendAll(event.dataTransfer.files);
    });
  }
  function sendAll(files) {
    for (const file of [...files]) send([file]);
  }

  sendChosen(); // while the page was loading

  const about = ({log, person, run = null}) => {
    const known = asked();
    return {log, run, course: known.course, car_file: entered[person]?.car_file || known.car_file, system: known.system};
  };
  const last = data("job");
  for (const button of main.querySelectorAll("[data-debrief]")) {
    button.addEventListener("click", () => queue.begin(button.dataset.name, "debrief", about({log: button.dataset.debrief, person: button.dataset.person})));
  }
  for (const button of main.querySelectorAll("[data-run]")) {
    button.addEventListener("click", () => queue.begin(last.log, "debrief", {...last, run: Number(button.dataset.run), kept_run: ""}));
  }
  place("keep")?.addEventListener("submit", (event) => {
    event.preventDefault();
    queue.begin(last.log, "debrief", {...last, kept_run: event.target.elements.kept_run.value});
  });
  place("compare")?.addEventListener("submit", (event) => {
    event.preventDefault();
    const {log, log_run: one, against, against_run: other} = event.target.elements;
    clearRefusals(event.target);
    place("same-run").textContent = "";
    let runs;
    try {
      runs = [one, other].map((field) => numberIn(field, {isWhole: true, above: 0}));
    } catch (refusal) {
      if (!(refusal instanceof Refusal)) throw refusal;
      showRefusal(event.target, refusal);
      return;
    }
    const [run, againstRun] = runs;
    if (log.value === against.value && run === againstRun) {
      place("same-run").textContent = text("debrief.same_run");
      return;
    }
    const {course, car_file, system} = last?.course ? {...last, system: given.system} : about({log: log.value});
    queue.begin(log.value, "compare", {log: log.value, run, against: against.value, against_run: againstRun, course, car_file, system});
  });
  place("by-times")?.addEventListener("click", () => {
    const {event, person, course, car_file} = asked();
    queue.begin(text("debrief.by_times"), "debrief-times", {event, person, course, car_file, times: data("times")});
  });

  const lines = data("lines");
  if (lines) showRun(lines, data("focus"), {traces: place("traces"), here: place("here"), cone: place("cone")});
}

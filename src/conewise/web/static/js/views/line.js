// The line: asked for, shown as it comes; map, charts, pedals and marker share one cursor.
import {Along} from "../chart/along.js";
import {Drive} from "../course/drive.js";
import {entryOf} from "../course/draft.js";
import {CourseMap} from "../course/map.js";
import {SpeedLine, speedKey} from "../course/speed_line.js";
import {data, element} from "../dom.js";
import {ConePrices} from "../line/cones.js";
import {HereNow} from "../line/here.js";
import {showPace} from "../line/pace.js";
import {Run} from "../line/run.js";
import {Traces} from "../line/traces.js";
import {ask, follow, stop} from "../live.js";
import {request} from "../request.js";
import {number, signed, text} from "../text.js";
import {lengthUnit, said, speedUnit} from "../units.js";

export function start() {
  const place = (id) => document.getElementById(id);
  const record = data("course");
  const asked = data("asked");
  const runs = [];
  const jobs = [];
  const entries = new Map(record.entries.map((entry) => [entry.id, entry]));
  const words = Object.fromEntries(["label", "larger", "smaller", "all"].map((key) => [key, text(`map.${key}`)]));
  const map = new CourseMap(place("map"), {words, mayTurn: true, mayFill: true, told: {choose: ({cone}) => choose(cone)}});
  map.show(record.course, record.path_m);
  const along = new Along(0, 1);
  const traces = new Traces(place("traces"), along);
  const here = new HereNow(place("here"), place("pedals"));
  const coneWords = (id) => record.cone_words[id] ?? id;
  const prices = new ConePrices({place: place("cones"), lead: place("cones-lead"), map, words: coneWords, choose: (id) => { choose(id); map.box.scrollIntoView({block: "nearest"}); }});
  const drive = new Drive({duration: 0, moved: (t) => point(runs[0].line.stationAt(t)), state: (isPlaying) => { place("play").textContent = text(isPlaying ? "line.pause" : "line.play"); }});
  let axis = "s";

  const length = lengthUnit();
  const toAxis = (s) => (axis === "s" ? s * length.factor : runs[0].line.at(s).t);
  const toStation = (value) => (axis === "s" ? value / length.factor : runs[0].line.stationAt(value));
  const point = (s) => along.point(toAxis(s), {follow: true});
  map.link({addEventListener: (what, hear) => along.addEventListener(what, hear), get at() { return along.at === null ? null : toStation(along.at); }, point});
  map.stations = (s) => (s === null ? [] : [s, ...runs.slice(1).map((run) => run.line.stationAt(runs[0].line.at(s).t))]);
  along.addEventListener("cursor", () => {
    if (!runs[0] || along.at === null) return;
    const s = toStation(along.at);
    if (!drive.isPlaying) drive.t = runs[0].line.at(s).t;
    const other = runs[1];
    here.show(runs[0], s, other ? other.line.at(s * (other.length / runs[0].length)).t - runs[0].line.at(s).t : null);
  });

  function choose(cone) {
    map.choose({cone, entry: cone ? entryOf(record.course, cone) : null});
    place("told").textContent = cone ? prices.told(cone) : "";
  }

  function nameOf(i) {
    return asked[i].setup ? text("line.of_setup_n", {car: runs[i].answer.car, n: asked[i].setup}) : text("line.of_setup", {car: runs[i].answer.car});
  }

  /** An answer, whole or as far as it has come. */
  function show(i, answer) {
    const isNew = runs[i]?.answer.time_s !== answer.time_s;
    if (i === 1 && !runs[0]) return;
    if (isNew) {
      runs[i] = new Run(answer, {name: "", speed: speedUnit()});
      runs[i].name = nameOf(i);
      draw();
    }
    runs[i].answer = answer;
    times();
    if (i === 0) told(answer);
  }

  function draw() {
    const present = runs.filter(Boolean);
    map.drawLines(present.map((run) => run.line));
    key(present[0].line);
    const at = along.at === null ? 0 : toStation(along.at);
    traces.show(present, axis);
    drive.duration = present[0].t.at(-1);
    place("play").disabled = false;
    point(at);
  }

  function key(line) {
    const speed = speedUnit();
    place("key").replaceChildren(speedKey(line.range, {quantity: text("line.speed"), unit: speed.unit, factor: speed.factor}));
  }

  function times() {
    place("times").replaceChildren(...runs.filter(Boolean).map((run, i) => {
      const gap = i ? run.answer.time_s - runs[0].answer.time_s : 0;
      const beside = i ? text(gap < 0 ? "line.gap_faster" : "line.gap_slower", {gap: signed(gap, 2)}) : "";
      return element("div", {class: i ? "second-time" : null}, asked.length > 1 ? element("p", {class: "note"}, run.name) : null, element("p", {class: "time"}, `${number(run.answer.time_s, 2)} ${text("line.unit")}`), i ? element("p", {}, beside) : null);
    }));
  }

  function told(answer) {
    const doubts = [!answer.is_checked && "line.unchecked", answer.fallback && "line.fallback", answer.is_stopped && "line.stop_area"].filter(Boolean);
    place("flag").textContent = doubts.map((key) => text(key)).join(" ");
    place("flag").hidden = !doubts.length;
    place("about").textContent = text("line.about", {driver: answer.driver, pace: number(answer.pace, 2), surface: text(`line.${asked[0].surface}`), distance: `${number(answer.distance_m * length.factor, 0)} ${length.unit}`});
    prices.show(answer);
    showPace(place("pace"), answer, (id) => `${entries.get(id)?.number ?? ""} ${id}`);
    place("findings").replaceChildren(...(answer.findings.length ? answer.findings.map((one) => element("li", {class: one.severity}, element("b", {}, text(`course.${one.severity}`)), ` ${said(one)} `, element("span", {class: "note"}, one.where))) : [element("li", {class: "note"}, text("line.nothing_found"))]));
  }

  /** The estimate on a fixed line, within a second or two, until the run itself has come. */
  async function estimate() {
    const quick = await request("/api/course/line", {send: {drawing: `line-${Math.random().toString(36).slice(2, 10)}`, number: 1, course: record.course, car: asked[0].car}});
    if (runs[0]) return;
    const line = new SpeedLine({s: quick.s_m, t: quick.t_s, x: quick.x_m, y: quick.y_m, v: quick.speed_m_s});
    map.drawLines([line]);
    key(line);
    place("times").replaceChildren(element("div", {}, element("p", {class: "time"}, `${number(quick.time_s, 1)} ${text("line.unit")}`), element("p", {class: "note"}, text("line.rough"))));
  }

  async function work() {
    let share = 0;
    for (const [i, question] of asked.entries()) {
      jobs[i] = await ask("line", question, `line-${i}`);
      const news = (job) => {
        share = Math.max(share, (i + job.progress) / asked.length);
        place("bar").value = share;
        if (!job.is_over && !runs[0]) place("about").textContent = [text("line.working"), job.message].filter(Boolean).join(": ");
        if (job.result) show(i, job.result);
      };
      news(jobs[i]);
      const done = await follow(jobs[i].id, {news, lost: (isLost) => isLost && (place("about").textContent = text("line.lost"))});
      show(i, done.result);
    }
  }

  place("stop").addEventListener("click", () => jobs.forEach((job, i) => job && stop(job.id, {slot: `line-${i}`})));
  place("play").addEventListener("click", () => drive.toggle());
  place("rate").addEventListener("change", (event) => { drive.rate = Number(event.target.value); });
  for (const choice of document.querySelectorAll("input[name=axis]")) {
    choice.addEventListener("change", () => {
      const s = along.at === null ? 0 : toStation(along.at);
      axis = choice.value;
      if (!runs[0]) return;
      traces.show(runs.filter(Boolean), axis);
      point(s);
    });
  }
  if (!asked[0].setup) estimate().catch(() => {}); // the run itself says what is wrong
  work().catch((refusal) => {
    if (refusal.code === "job-stopped") place("about").textContent = text("line.stopped");
    else place("about").textContent = [text("line.failed"), refusal.message, refusal.hint].filter(Boolean).join(" ");
  }).finally(() => place("work").remove());
}

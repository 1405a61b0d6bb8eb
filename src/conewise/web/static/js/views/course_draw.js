// Drawing a course: list, map, notes and lot are four hands on one draft; the server checks it and works out the line.
import {Acts} from "../course/acts.js";
import {Asking} from "../course/asking.js";
import {Draft} from "../course/draft.js";
import {Editor} from "../course/editor.js";
import {showFindings} from "../course/findings.js";
import {QuickTime} from "../course/quick_time.js";
import {EntryList} from "../course/list.js";
import {Lot} from "../course/lot.js";
import {NotesForm} from "../course/notes.js";
import {Signs} from "../course/signs.js";
import {PicturePanel} from "../course/picture_panel.js";
import {Keeping} from "../course/keeping.js";
import {data} from "../dom.js";
import {number, text} from "../text.js";
import {takeNumber} from "../typed.js";

export async function start() {
  const place = (id) => document.getElementById(id);
  const record = data("course");
  const draft = new Draft(record.course);
  const state = {drawn: record, preview: null};
  const words = Object.fromEntries(["label", "larger", "smaller", "all"].map((key) => [key, text(`map.${key}`)]));

  const editor = new Editor(place("map"), {draft, words, chosen});
  const signs = new Signs(editor.map);
  const list = new EntryList(place("list"), {draft, told: {choose: (choice) => editor.choose(choice), act, refused}});
  const lot = new Lot(place("lot"), {draft, told: {choose: (choice) => editor.choose(choice), middle: () => editor.map.plane.plan(editor.map.plane.width / 2, editor.map.plane.height / 2)}});
  const notes = new NotesForm(place("notes"), {draft, entries: () => state.drawn.entries, problems: place("note-problems"), take: place("notes-take"), leave: place("notes-leave"), told: {preview, take: (course) => draft.put(course, text("draw.did_notes"))}});
  const time = new QuickTime({answer: place("answer"), about: place("answer-about"), key: place("key"), map: editor.map, car: data("car"), driver: data("driver"), drawing: Math.random().toString(36).slice(2, 10)});
  const keeping = new Keeping({draft, id: record.id, version: record.version, save: place("save"), problem: place("problem")});
  const picture = new PicturePanel(place("picture"), {editor, draft, key: record.id});
  const checking = new Asking("/api/course/drawn", {wait: 20, answered, failed: (refusal) => refused(refusal, true)});

  function answered(drawn) {
    state.drawn = drawn;
    if (state.isUnchecked) say("");
    if (!state.preview) render();
  }

  /** Everything that the server told about the drawing; the cones themselves are the draft's. */
  function render() {
    const {drawn} = state;
    if (!draft.lively) editor.show(drawn.path_m);
    list.show(drawn.entries, drawn.findings);
    showFindings({list: place("findings"), verdict: place("verdict"), map: editor.map, signs, choose: (choice) => editor.choose(choice)}, drawn);
    notes.show();
    place("summary").textContent = drawn.length_m === null ? "" : time.lengthWords(drawn);
    if (!time.car) place("answer").textContent = time.length(drawn);
  }

  function changed() {
    if (!state.preview) editor.show(state.drawn.path_m);
    lot.show();
    waiting();
    keeping.show();
    basics();
    checking.ask({course: draft.course});
    time.ask(draft.course);
  }

  const acts = new Acts({draft, waiting, done: (drawn, label) => {
    state.drawn = drawn;
    draft.put(drawn.course, label);
    render();
  }});

  function act(what, label) {
    say("");
    return acts.act(what, label);
  }

  /** Undo takes back first what is not done yet. */
  function undo() {
    if (acts.count) acts.drop();
    else draft.undo();
  }

  function waiting() {
    place("list").setAttribute("aria-busy", String(acts.count > 0));
    place("undo").disabled = !draft.past.length && !acts.count;
    place("redo").disabled = !draft.future.length;
  }

  function chosen(choice) {
    list.choose(choice);
    lot.choose(choice);
    const entry = state.drawn.entries.find((one) => one.id === choice.entry);
    const said = choice.cone ? text("draw.chosen_cone", {words: state.drawn.cone_words[choice.cone] ?? choice.cone}) : entry ? text("draw.chosen_entry", {words: entry.words}) : "";
    place("told").textContent = said || text("draw.hint");
  }

  function preview(drawn) {
    state.preview = drawn;
    editor.map.box.classList.toggle("preview", drawn !== null);
    const shown = drawn ?? {...state.drawn, course: draft.course};
    editor.map.show(shown.course, shown.path_m);
    if (drawn) time.ask(drawn.course);
    else changed();
  }

  function refused(refusal, isUnchecked = false) {
    say(`${refusal.message} ${refusal.hint}`);
    state.isUnchecked = isUnchecked;
  }

  function say(words) {
    state.isUnchecked = false;
    place("problem").textContent = words;
    place("problem").hidden = !words;
  }

  const form = place("basics").elements;
  function basics() {
    const {name, rules, staging, site} = draft.course;
    for (const [key, value] of [["name", name], ["rules", rules], ["staging", number(staging, 2)], ["friction", number(site.friction, 2)]]) {
      if (document.activeElement !== form[key] && !form[key].hasAttribute("aria-invalid")) form[key].value = value;
    }
  }
  place("basics").addEventListener("submit", (event) => event.preventDefault());
  place("basics").addEventListener("change", (event) => {
    const {name, value} = event.target;
    const put = (parts) => draft.put({...draft.course, ...parts}, text("draw.did_basics"));
    if (name === "friction") takeNumber(event.target, (friction) => put({site: {...draft.course.site, friction}}), {isNeeded: true});
    else if (name === "staging") takeNumber(event.target, (staging) => put({staging}), {isNeeded: true});
    else if (value.trim()) put({[name]: value.trim()});
    else basics();
  });

  draft.addEventListener("change", () => {
    if (state.preview) state.preview = null;
    editor.map.box.classList.remove("preview");
    changed();
  });
  draft.addEventListener("live", () => {
    checking.keepAsking({course: draft.course});
    time.follow(draft.course);
  });
  place("undo").addEventListener("click", undo);
  place("redo").addEventListener("click", () => draft.redo());
  document.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.target.matches("input, textarea")) return;
    if (event.key.toLowerCase() === "z" && !event.shiftKey) undo();
    else if (event.key.toLowerCase() === "y" || event.key.toLowerCase() === "z") draft.redo();
    else return;
    event.preventDefault();
  });

  await picture.ready;
  render();
  chosen({});
  changed();
}

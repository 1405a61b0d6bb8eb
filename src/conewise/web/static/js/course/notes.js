// The whole course as walk notes: what is typed is drawn at once, and becomes the course when it is taken.

import {element} from "../dom.js";
import {text} from "../text.js";
import {Asking} from "./asking.js";

const WAIT = 150; // after a key [ms]

/** The form. `told`: {preview(drawn or null), take(course)}. `entries()` are the present course's, with their notes. */
export class NotesForm {
  constructor(form, {draft, told, entries, problems, take, leave}) {
    Object.assign(this, {form, draft, told, entries, problems, isTyping: false});
    this.asking = new Asking("/api/course/typed", {wait: WAIT, answered: (drawn) => this.#drawn(drawn), failed: (refusal) => this.#refused(refusal)});
    form.addEventListener("input", () => this.#typed());
    form.addEventListener("submit", (event) => event.preventDefault());
    take.addEventListener("click", () => this.last && this.#take());
    leave.addEventListener("click", () => this.#leave());
  }

  /** The present course's notes, unless somebody is typing. */
  show() {
    if (this.isTyping) return;
    const {stop} = this.draft.course;
    const lines = this.entries().map((entry) => entry.note.replaceAll("; ", "\n"));
    if (stop) lines.push(`stop ${stop.kind} ${Number(stop.length.toFixed(1))} m`);
    this.form.elements.notes.value = lines.join("\n");
  }

  #typed() {
    this.isTyping = true;
    const {notes, pace, gate_width: gate} = this.form.elements;
    this.asking.ask({name: this.draft.course.name, notes: notes.value, pace: pace.value, gate_width: gate.value});
  }

  #drawn(drawn) {
    this.last = drawn;
    const lines = drawn.problems.map((one) => element("li", {class: "problem"}, text("draw.note_line", one)));
    if (!drawn.is_complete && !lines.length) lines.push(element("li", {class: "note"}, text("draw.notes_open")));
    this.problems.replaceChildren(...lines);
    this.told.preview(drawn);
  }

  #refused(refusal) {
    this.last = null;
    this.problems.replaceChildren(element("li", {class: "problem"}, `${refusal.message} ${refusal.hint}`));
  }

  #take() {
    const {course} = this.last;
    const {site, staging, rules, stop} = this.draft.course;
    this.#end();
    this.told.take({...course, site, staging, rules, stop: course.stop ?? stop});
  }

  #leave() {
    this.#end();
    this.told.preview(null);
    this.show();
  }

  #end() {
    this.asking.stop();
    this.isTyping = false;
    this.last = null;
    this.problems.replaceChildren();
  }
}

// Saving: a new version of the course, and what to do where somebody else saved one meanwhile.

import {element} from "../dom.js";
import {request} from "../request.js";
import {text} from "../text.js";

export class Keeping {
  constructor({draft, id, version, save, problem}) {
    Object.assign(this, {draft, id, version, save, problem});
    this.told = element("span", {class: "note", role: "status"});
    save.after(this.told);
    save.addEventListener("click", () => this.#save());
    addEventListener("beforeunload", (event) => this.draft.isChanged && event.preventDefault());
  }

  show() {
    this.save.disabled = !this.draft.isChanged;
    this.told.textContent = this.draft.isChanged ? text("draw.unsaved", {what: this.draft.now.label || this.draft.future.at(-1)?.label}) : this.saved ?? "";
  }

  async #save() {
    this.save.disabled = true;
    try {
      const kept = await request(`/api/courses/${this.id}`, {method: "PUT", send: {course: this.draft.course, version: this.version}});
      this.version = kept.version;
      this.saved = text("draw.saved", {version: kept.version});
      this.draft.keep();
      this.problem.hidden = true;
    } catch (refusal) {
      this.save.disabled = false;
      this.problem.hidden = false;
      if (refusal.code === "record-changed") this.#conflict();
      else this.problem.textContent = `${refusal.message} ${refusal.hint}`;
    }
  }

  #conflict() {
    const anew = element("button", {type: "button", class: "second", onclick: () => this.#saveNew()}, text("draw.save_new"));
    const theirs = element("button", {type: "button", class: "second", onclick: () => { this.draft.keep(); location.reload(); }}, text("draw.open_theirs"));
    this.problem.replaceChildren(element("span", {}, text("draw.conflict")), element("span", {class: "row"}, anew, theirs));
  }

  async #saveNew() {
    try {
      const kept = await request("/api/courses", {send: {course: this.draft.course}});
      Object.assign(this, kept);
      this.saved = text("draw.saved_new");
      this.draft.keep();
      history.replaceState(null, "", `/prepare/courses/${kept.id}/draw${location.search}`);
      this.problem.hidden = true;
    } catch (refusal) {
      this.problem.textContent = `${refusal.message} ${refusal.hint}`;
    }
  }
}

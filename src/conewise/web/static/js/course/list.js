// The course as a list in driving order; what is done to it stands at the chosen entry.

import {element} from "../dom.js";
import {text} from "../text.js";

const ENDS = new Set(["start", "finish"]);
const GATES = new Set(["start", "finish", "gate", "offset-gate", "split-gate"]);
const TURN = (5 * Math.PI) / 180;

/** The list in `place`. `told`: {choose({entry}), act(act, label), refused(refusal)}; `draft` gives the course, `drawn()` its words. */
export class EntryList {
  constructor(place, {draft, told}) {
    Object.assign(this, {place, draft, told, rows: new Map(), follow: true});
    place.addEventListener("keydown", (event) => this.#key(event));
  }

  /** Entries in words: [{number, id, kind, words, note}], and findings by entry. */
  show(entries, findings) {
    this.entries = entries;
    const stops = new Set(findings.filter((one) => one.severity === "stop").flatMap((one) => one.entries));
    const looks = new Set(findings.filter((one) => one.severity === "warning").flatMap((one) => one.entries));
    const rows = new Map();
    for (const entry of entries) {
      const row = this.rows.get(entry.id) ?? this.#row(entry.id);
      row.number.textContent = entry.number;
      row.words.textContent = entry.words;
      row.mark.textContent = stops.has(entry.id) ? text("draw.mend") : looks.has(entry.id) ? text("draw.look") : "";
      row.entry = entry;
      rows.set(entry.id, row);
    }
    this.rows = rows;
    const lines = [...rows.values()].map((row) => row.line);
    if (lines.length !== this.place.children.length || lines.some((line, i) => this.place.children[i] !== line)) {
      const focused = document.activeElement;
      this.place.replaceChildren(...lines);
      if (this.place.contains(focused)) focused.focus();
    }
    this.choose(this.choice ?? {});
  }

  #row(id) {
    const number = element("span", {class: "entry-number"});
    const words = element("span", {class: "entry-words"});
    const mark = element("span", {class: "entry-mark"});
    const button = element("button", {type: "button", class: "entry", "aria-expanded": "false", onclick: () => this.told.choose({entry: this.choice?.entry === id ? null : id})}, number, words, mark);
    return {number, words, mark, button, line: element("li", {"data-entry": id}, button)};
  }

  choose(choice) {
    this.choice = choice;
    for (const [id, row] of this.rows) {
      const isChosen = id === choice.entry;
      row.button.setAttribute("aria-expanded", String(isChosen));
      row.line.classList.toggle("chosen", isChosen);
      if (!isChosen && row.panel) {
        row.panel.remove();
        row.panel = null;
      }
      if (isChosen) this.#open(row, choice.cone);
    }
  }

  /** The panel of the chosen entry. It stays while its buttons stay: one that goes under a finger loses the tap. */
  #open(row, cone) {
    const {entry} = row;
    const state = [entry.kind, cone, this.#isSingle(entry), this.#isPointer(cone)].join("|");
    if (row.panel && row.state === state) {
      if (row.note !== entry.note) this.#renote(row);
      return;
    }
    const hadFocus = row.panel?.contains(document.activeElement) && document.activeElement.getAttribute("data-act");
    const panel = this.#panel(entry, cone);
    if (row.panel) row.panel.replaceWith(panel);
    else row.line.append(panel);
    Object.assign(row, {panel, state, note: entry.note});
    if (hadFocus) panel.querySelector(`[data-act="${hadFocus}"]`)?.focus();
  }

  #renote(row) {
    row.note = row.entry.note;
    const field = row.panel.querySelector("[name=in_words]");
    if (field) field.value = row.note;
    for (const problem of row.panel.querySelectorAll(".problem")) problem.hidden = true;
  }

  #panel(entry, cone) {
    const isEnd = ENDS.has(entry.kind);
    const act = (kind, parts = {}, name = kind) => this.#button(text(`draw.${name.replace("-", "_")}`), name, () => this.#act({kind, entry: entry.id, ...parts}));
    const move = (by, name) => this.#button(text(`draw.${name}`), name, () => this.#act({kind: "move", entry: entry.id, by}));
    const buttons = [];
    if (!isEnd) {
      buttons.push(move(-1, "earlier"), move(1, "later"), act("repeat"), act("mirror"), act("remove"));
      buttons.push(act("place", {turn: TURN}, "turn-left"), act("place", {turn: -TURN}, "turn-right"));
    }
    if (!GATES.has(entry.kind) && this.#isSingle(entry)) for (const side of ["left", "right", "either"]) buttons.push(act("sides", {first: side}, `side-${side}`));
    if (!GATES.has(entry.kind) && entry.kind !== "cone") buttons.push(act("add-cone", {}, "more-cone"));
    if (cone) buttons.push(...this.#coneButtons(entry, cone));
    const parts = [element("div", {class: "row entry-acts"}, ...buttons)];
    if (!isEnd) parts.push(this.#words("in_words", entry.note, text("draw.again"), (words) => this.#act({kind: "remake", entry: entry.id, words})));
    if (entry.kind !== "finish") parts.push(this.#words("add_after", "", text("draw.add"), (words) => this.#act({kind: "add", entry: entry.id, words})));
    parts.push(this.#followBox());
    return element("div", {class: "entry-panel"}, ...parts);
  }

  #coneButtons(entry, cone) {
    const isPointer = this.#isPointer(cone);
    const pointer = this.#button(text(isPointer ? "draw.pointer_off" : "draw.pointer"), "pointer", () => this.#act({kind: "pointer", cone}));
    if (isPointer || GATES.has(entry.kind)) return [pointer];
    return [this.#button(text("draw.less_cone"), "less-cone", () => this.#act({kind: "remove-cone", cone})), pointer];
  }

  #isPointer(cone) {
    return Boolean(this.draft.course.cones.find((one) => one.id === cone)?.points_to);
  }

  #isSingle(entry) {
    const feature = this.draft.course.features.find((one) => one.id === entry.id);
    return feature?.crossings.every((crossing) => crossing.length === 1);
  }

  #button(label, name, go) {
    return element("button", {type: "button", class: "second", "data-act": name, onclick: () => go().catch(this.told.refused)}, label);
  }

  /** A field for walk words with its button; its problem is said below it. */
  #words(key, value, label, go) {
    const field = element("input", {name: key, value, autocomplete: "off", autocapitalize: "off", spellcheck: "false", placeholder: value ? null : text("draw.add_hint")});
    const problem = element("p", {class: "problem", role: "alert", hidden: true});
    const refused = (refusal) => {
      problem.textContent = `${refusal.message} ${refusal.hint}`;
      problem.hidden = false;
      field.focus();
    };
    return element("form", {class: "entry-form", onsubmit: (event) => {
      event.preventDefault();
      problem.hidden = true;
      if (field.value.trim()) go(field.value).catch(refused);
    }}, element("label", {}, text(`draw.${key}`), field), element("button", {class: "second", "data-act": key}, label), problem);
  }

  #followBox() {
    const box = element("input", {type: "checkbox", onchange: () => { this.follow = box.checked; }});
    box.checked = this.follow;
    return element("label", {class: "option"}, box, text("draw.follow"));
  }

  #act(act) {
    return this.told.act({follow: this.follow, ...act}, text(`draw.did_${act.kind.replace("-", "_")}`));
  }

  #key(event) {
    if (!event.target.classList.contains("entry")) return;
    const moves = {ArrowDown: 1, ArrowUp: -1};
    if (!(event.key in moves)) return;
    event.preventDefault();
    const buttons = [...this.place.querySelectorAll(".entry")];
    buttons[buttons.indexOf(event.target) + moves[event.key]]?.focus();
  }
}

// The picture below the course: choosing it, putting its two marks, and saying where those lie.

import {element} from "../dom.js";
import {number, text} from "../text.js";
import {clearRefusals, Refusal, showRefusal} from "../request.js";
import {numberIn} from "../typed.js";
import {lengthUnit} from "../units.js";
import {extentOf} from "./ground.js";
import {Picture, scaleOf} from "./picture.js";

/** The panel in `place`, for the map of `editor`; `key` is what the picture is kept under. */
export class PicturePanel {
  constructor(place, {editor, draft, key}) {
    Object.assign(this, {place, editor, draft, key, picture: new Picture(editor.map)});
    this.#show();
    this.ready = this.picture.find(key).then((isThere) => isThere && this.#show());
  }

  #show() {
    const file = element("input", {type: "file", accept: "image/*", name: "picture", onchange: () => file.files.length && this.#take(file.files[0])});
    const parts = [element("label", {}, text("draw.picture_file"), file)];
    if (this.picture.kept) parts.push(...this.#tools());
    this.place.replaceChildren(element("div", {class: "fields"}, ...parts));
  }

  async #take(blob) {
    await this.picture.take(blob, this.key, extentOf(this.draft.course));
    this.#show();
    this.#mark();
  }

  #tools() {
    const {unit, factor} = lengthUnit();
    const spots = this.picture.spots;
    const field = (name, value) => element("input", {name, inputmode: "decimal", autocomplete: "off", value: number(value * factor, 2)});
    const pairs = spots.map(([x, y], i) => element("label", {}, text("draw.picture_place", {n: i + 1, unit}), element("span", {class: "pair-fields"}, field(`x${i}`, x), field(`y${i}`, y))));
    const apart = element("label", {}, text("draw.picture_apart", {unit}), element("input", {name: "apart", inputmode: "decimal", autocomplete: "off"}));
    this.problem = element("p", {class: "problem", role: "alert", hidden: true}, text("draw.picture_bad"));
    const {metres, degrees} = scaleOf(this.picture.kept.motion);
    const scale = element("p", {class: "note", id: "picture-scale"}, text("draw.picture_scale", {size: number(100 * metres, 1), turn: number(degrees, 1)}));
    const form = element("form", {class: "fields", onsubmit: (event) => { event.preventDefault(); this.#lay(form); }}, ...pairs, apart, this.problem, scale,
      element("div", {class: "row"}, element("button", {}, text("draw.picture_lay")), element("button", {type: "button", class: "second", onclick: () => this.#remove()}, text("draw.picture_remove"))));
    return [element("div", {class: "row"}, element("button", {type: "button", class: "second", onclick: () => this.#mark()}, text("draw.picture_marks"))), form];
  }

  /** The two marks are dragged on the map; the picture stays where it is meanwhile. */
  #mark() {
    this.editor.choose({});
    this.editor.marks = {
      spots: () => this.picture.spots,
      move: (i, spot) => this.picture.mark(i, spot),
      done: () => { this.#show(); this.picture.keep(); },
    };
    this.editor.handles.update();
    this.editor.map.svg.focus();
  }

  /** Where the form says that the two marks lie: how far apart, else both places. */
  #typed(form) {
    const {factor} = lengthUnit();
    const apart = numberIn(form.elements.apart, {above: 0});
    if (apart === null) {
      const value = (name) => numberIn(form.elements[name], {isNeeded: true}) / factor;
      return [[value("x0"), value("y0")], [value("x1"), value("y1")]];
    }
    const [from, to] = this.picture.spots;
    const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
    const share = apart / factor / (Math.hypot(dx, dy) || 1);
    return [from, [from[0] + dx * share, from[1] + dy * share]];
  }

  async #lay(form) {
    clearRefusals(form);
    try {
      this.problem.hidden = this.picture.lay(this.#typed(form));
    } catch (refusal) {
      if (!(refusal instanceof Refusal)) throw refusal;
      this.problem.hidden = true;
      showRefusal(form, refusal);
      return;
    }
    if (!this.problem.hidden) return;
    this.editor.marks = null;
    this.editor.handles.update();
    await this.picture.keep();
    this.#show();
  }

  async #remove() {
    this.editor.marks = null;
    this.editor.handles.update();
    await this.picture.remove();
    this.#show();
  }
}

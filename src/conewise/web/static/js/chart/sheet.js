// A canvas that is as sharp as the screen, drawn once a frame when something changed.

import {ink, onLook} from "./ink.js";

/**
 * A canvas in a place; `draw(context, {width, height, ink})` is called in CSS pixels.
 *
 * `redraw()` asks for a drawing in the next frame, however often it is called before.
 */
export class Sheet {
  constructor(place, draw) {
    this.canvas = document.createElement("canvas");
    this.canvas.setAttribute("aria-hidden", "true");
    place.prepend(this.canvas);
    this.place = place;
    this.draw = draw;
    this.asked = 0;
    this.sized = new ResizeObserver(() => this.redraw());
    this.sized.observe(place);
    this.endLook = onLook(() => this.redraw());
    this.redraw();
  }

  get width() {
    return this.place.clientWidth;
  }

  get height() {
    return this.place.clientHeight;
  }

  redraw() {
    this.asked ||= requestAnimationFrame(() => {
      this.asked = 0;
      this.now();
    });
  }

  now() {
    const {width, height, canvas} = this;
    const ratio = devicePixelRatio || 1;
    if (!width || !height) return;
    const [w, h] = [Math.round(width * ratio), Math.round(height * ratio)];
    if (canvas.width !== w || canvas.height !== h) [canvas.width, canvas.height] = [w, h];
    const context = canvas.getContext("2d");
    context.setTransform(ratio, 0, 0, ratio, 0, 0);
    context.clearRect(0, 0, width, height);
    this.draw(context, {width, height, ink: ink()});
  }

  remove() {
    this.sized.disconnect();
    this.endLook();
    cancelAnimationFrame(this.asked);
    this.canvas.remove();
  }
}

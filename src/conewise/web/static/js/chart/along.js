// What charts and a map share: the stretch of the axis that is shown, and the place of the cursor.

const MOST_ZOOM = 400;

/**
 * The common axis of several drawings, along the course or in time.
 *
 * Tells "window" when another stretch is shown and "cursor" when the cursor moves.
 */
export class Along extends EventTarget {
  constructor(low, high) {
    super();
    this.extent(low, high);
    this.at = null;
  }

  /** Another extent of the whole; all of it is shown. */
  extent(low, high) {
    this.low = low;
    this.high = high > low ? high : low + 1;
    this.from = this.low;
    this.to = this.high;
    this.dispatchEvent(new Event("window"));
  }

  get isWhole() {
    return this.from <= this.low && this.to >= this.high;
  }

  /** Show a stretch, kept inside the whole. */
  show(from, to) {
    const whole = this.high - this.low;
    const span = Math.min(Math.max(to - from, whole / MOST_ZOOM), whole);
    const start = Math.min(Math.max(from, this.low), this.high - span);
    if (start === this.from && start + span === this.to) return;
    this.from = start;
    this.to = start + span;
    this.dispatchEvent(new Event("window"));
  }

  /** Show less (factor above 1) or more around a place that stays where it is. */
  zoom(factor, about) {
    this.show(about - (about - this.from) / factor, about + (this.to - about) / factor);
  }

  pan(by) {
    this.show(this.from + by, this.to + by);
  }

  /** Put the cursor at a place; the stretch follows where it would leave it. */
  point(at, {follow = false} = {}) {
    this.at = Math.min(Math.max(at, this.low), this.high);
    if (follow && (this.at < this.from || this.at > this.to)) {
      const span = this.to - this.from;
      this.show(this.at - span / 2, this.at + span / 2);
    }
    this.dispatchEvent(new Event("cursor"));
  }
}

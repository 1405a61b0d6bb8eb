// What is done to a drawing by the server: one thing after the other, each to the course as it is by then.

import {request} from "../request.js";

const AGAIN = 50; // between looks whether a hand still drags [ms]

/**
 * Things to be done to `draft`. `done(drawn, label)` is told what came of each; `waiting()` whenever their number changes.
 *
 * An answer about a course that has become another one meanwhile is thrown away, and asked for anew.
 */
export class Acts {
  constructor({draft, done, waiting}) {
    Object.assign(this, {draft, done, told: waiting, count: 0, round: 0, last: Promise.resolve()});
  }

  /** `what` is done to an entry; `by` in it moves the entry by places. What is done to an entry that is gone is done. */
  act(what, label) {
    const {round} = this;
    this.#counted(1);
    const mine = this.last.then(() => this.#do(what, label, round)).finally(() => this.#counted(-1));
    this.last = mine.catch(() => {});
    return mine;
  }

  /** Take back what is not done yet. */
  drop() {
    this.round += 1;
  }

  async #do(what, label, round) {
    while (round === this.round) {
      const {course} = this.draft.now;
      const at = course.features.findIndex((one) => one.id === what.entry);
      if (what.entry && at < 0) return;
      const {by, ...change} = what;
      const drawn = await request("/api/course/changed", {send: {course, change: by ? {...change, to: at + by} : change}});
      while (this.draft.lively) await new Promise((go) => setTimeout(go, AGAIN));
      if (round === this.round && this.draft.now.course === course) {
        this.done(drawn, label);
        return;
      }
    }
  }

  #counted(by) {
    this.count += by;
    this.told();
  }
}

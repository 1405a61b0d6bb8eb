// Questions to the server about a drawing: the newest answer counts, older questions are given up.

import {request} from "../request.js";

/** Asks one kind of question at a time; a newer one cancels the one on the way, and waits a moment for still newer ones. */
export class Asking {
  constructor(address, {answered, failed, wait = 0}) {
    Object.assign(this, {address, answered, failed, wait, timer: 0, running: null});
  }

  /** What is on the way is given up at once: its answer is about a drawing that is no more. */
  ask(send) {
    const wait = this.running ? Math.max(this.wait, 30) : this.wait;
    this.stop();
    this.timer = setTimeout(() => this.#go(send), wait);
  }

  /** Ask unless a question is on the way; the last one asked meanwhile follows. For what is dragged. */
  keepAsking(send) {
    if (this.running) this.next = send;
    else this.#go(send);
  }

  stop() {
    clearTimeout(this.timer);
    this.next = null;
    this.running?.abort();
    this.running = null;
  }

  async #go(send) {
    this.stop();
    const mine = new AbortController();
    this.running = mine;
    try {
      const answer = await request(this.address, {send, signal: mine.signal});
      if (this.running === mine) this.answered(answer);
    } catch (refusal) {
      if (refusal.name !== "AbortError" && this.running === mine && refusal.code !== "superseded") this.failed(refusal);
    } finally {
      if (this.running === mine) {
        this.running = null;
        if (this.next) this.#go(this.next);
      }
    }
  }
}

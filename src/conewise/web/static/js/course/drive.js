// A marker that drives a run in real or slow time: it moves the cursor that map and charts share.

/** Plays a run; `moved(t)` is told the time of the run in every frame, `state(isPlaying)` when it begins and ends. */
export class Drive {
  constructor({duration, moved, state}) {
    Object.assign(this, {duration, moved, state});
    this.rate = 1;
    this.t = 0;
    this.frame = 0;
  }

  get isPlaying() {
    return this.frame !== 0;
  }

  toggle() {
    if (this.isPlaying) this.pause();
    else this.play();
  }

  play() {
    if (this.t >= this.duration) this.t = 0;
    let before = performance.now();
    const step = (now) => {
      this.t = Math.min(this.t + (this.rate * Math.max(now - before, 0)) / 1000, this.duration);
      before = now;
      this.moved(this.t);
      if (this.t >= this.duration) this.pause();
      else this.frame = requestAnimationFrame(step);
    };
    this.frame = requestAnimationFrame(step);
    this.state(true);
  }

  pause() {
    cancelAnimationFrame(this.frame);
    this.frame = 0;
    this.state(false);
  }
}

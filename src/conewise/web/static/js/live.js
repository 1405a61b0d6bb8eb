// Long work: ask for it, follow it, stop it. A lost connection is taken up again by itself.
import {Refusal, request} from "./request.js";

const AGAIN = 2000; // after a connection was refused [ms]

/** The job that answers a question; `slot` stops an earlier question of the same place on a page. */
export function ask(kind, question, slot = "") {
  return request("/api/jobs", {send: {kind, question, slot}});
}

export function stop(id) {
  return request(`/api/jobs/${encodeURIComponent(id)}`, {method: "DELETE"});
}

/**
 * Follow a job: `news(job)` for each change, `lost(isLost)` when the connection goes and comes.
 * The promise has the job when it is done; it is rejected with a Refusal when the job failed or was stopped.
 * `signal` ends the following, not the job.
 */
export function follow(id, {news = () => {}, lost = () => {}, signal} = {}) {
  return new Promise((done, failed) => {
    let job = {};
    let source = null;
    let isLost = false;
    signal?.addEventListener("abort", () => { source?.close(); failed(signal.reason); });
    function say(now) {
      if (now !== isLost) lost((isLost = now));
    }
    function open() {
      if (signal?.aborted) return;
      source = new EventSource(`/api/jobs/${encodeURIComponent(id)}/events`);
      source.addEventListener("job", (event) => {
        say(false);
        job = {...job, ...JSON.parse(event.data)};
        news(job);
        if (!job.is_over) return;
        source.close();
        if (job.state === "done") done(job);
        else failed(new Refusal(job.error ?? {code: "job-stopped", message: "", where: "", hint: ""}, 0));
      });
      source.addEventListener("error", () => {
        if (job.is_over) return;
        say(true);
        if (source.readyState === EventSource.CLOSED) setTimeout(open, AGAIN);
      });
    }
    open();
  });
}

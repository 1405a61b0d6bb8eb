// Long work: ask for it, follow it, stop it. A lost connection is taken up again by itself.
import {Refusal, request} from "./request.js";

const AGAIN = 2000; // after a connection was refused [ms]
const TAB = "conewise-tab";
const TRIES = 4; // of a request that breaks off though the server answers others

/** The job that answers a question; `slot` stops an earlier question of the same place on a page of this tab. */
export function ask(kind, question, slot = "") {
  return request("/api/jobs", {send: {kind, question, slot: slotHere(slot)}});
}

/** A slot of this tab alone, also when its page is loaded anew: another tab of the device asks for itself. */
function slotHere(slot) {
  if (!slot) return "";
  const tab = sessionStorage.getItem(TAB) ?? Math.random().toString(36).slice(2, 10);
  sessionStorage.setItem(TAB, tab);
  return `${slot}-${tab}`;
}

const followed = new Set(); // what this page follows: {id, leave}

/**
 * Wait for a job no more; `slot` is that of its question, `forAll` stops it for other devices too. Where others wait it
 * goes on, and here it counts as stopped.
 */
export async function stop(id, {slot = "", forAll = false} = {}) {
  const how = new URLSearchParams({...(slot && {slot: slotHere(slot)}), ...(forAll && {for_all: true})}).toString();
  const job = await request(`/api/jobs/${encodeURIComponent(id)}${how && `?${how}`}`, {method: "DELETE"});
  if (["waiting", "running"].includes(job.state)) for (const one of followed) if (one.id === id) one.leave();
  return job;
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
    let isEnded = false;
    const here = {id, leave: () => end(() => failed(stopped()))};
    followed.add(here);
    signal?.addEventListener("abort", () => end(() => failed(signal.reason)));
    function end(how) {
      isEnded = true;
      followed.delete(here);
      source?.close();
      how();
    }
    function say(now) {
      if (now !== isLost) lost((isLost = now));
    }
    function open() {
      if (isEnded || signal?.aborted) return;
      source = new EventSource(`/api/jobs/${encodeURIComponent(id)}/events`);
      source.addEventListener("job", (event) => {
        say(false);
        job = {...job, ...JSON.parse(event.data)};
        news(job);
        if (!job.is_over) return;
        end(() => (job.state === "done" ? done(job) : failed(job.error ? new Refusal(job.error, 0) : stopped())));
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

function stopped() {
  return new Refusal({code: "job-stopped", message: "", where: "", hint: ""}, 0);
}

/** Take out a job that failed or was stopped: no page shows it any more. */
export function putAway(id) {
  return request(`/api/jobs/${encodeURIComponent(id)}/put-away`, {send: {}});
}

/** What a request gives; where the server is away it is made again when it is back. `lost()` is told each time. */
export async function heard(what, lost) {
  for (let tries = 1; ; tries += 1) {
    try {
      return await what();
    } catch (refusal) {
      if (refusal.code !== "unreachable" || tries === TRIES) throw refusal;
      lost();
      await answering();
    }
  }
}

/** When the server answers again. */
async function answering() {
  for (;;) {
    await new Promise((done) => setTimeout(done, AGAIN));
    try {
      return await request("/api/who");
    } catch (refusal) {
      if (refusal.code !== "unreachable") throw refusal;
    }
  }
}

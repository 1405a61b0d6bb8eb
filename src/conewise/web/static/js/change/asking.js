// A question of a form, the job that answers it, and its progress on the page.
import {ask, follow, stop} from "../live.js";
import {clearRefusals, Refusal, showRefusal} from "../request.js";
import {text} from "../text.js";

/** Send the form's question: `asked(fields)` makes it; the page of the job opens. */
export function askByForm(form, kind, asked) {
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    clearRefusals(form);
    try {
      open((await ask(kind, asked(new FormData(form)), `${kind}-page`)).id);
    } catch (refusal) {
      if (!(refusal instanceof Refusal)) throw refusal;
      showRefusal(form, refusal);
    }
  });
}

/** The page of a job. */
export function open(id) {
  const there = new URL(location.href);
  there.searchParams.set("job", id);
  there.hash = "";
  if (there.href === location.href) location.reload();
  else location.assign(there);
}

/**
 * Follow a job of a kind that is not over; `news(job)` hears every change. The page is loaded anew when it is done.
 * `hasPart()` says whether a part of the answer is shown.
 */
export async function followHere(job, kind, {news = () => {}, hasPart = () => false} = {}) {
  const place = (id) => document.getElementById(id);
  const fail = (refusal) => {
    const stopped = text(hasPart() ? "change.stopped" : "change.stopped_early");
    place("words").textContent = refusal.code === "job-stopped" ? stopped : `${text("change.failed")} ${refusal.message} ${refusal.hint}`;
  };
  if (job.is_over) {
    if (job.error) fail(job.error);
    else if (job.state === "stopped") fail({code: "job-stopped"});
    return;
  }
  place("work").hidden = false;
  place("stop").addEventListener("click", (event) => { event.target.disabled = true; stop(job.id, {slot: `${kind}-page`}); });
  try {
    await follow(job.id, {
      news: (now) => {
        place("bar").value = now.progress;
        if (!now.is_over) place("words").textContent = now.state === "waiting" ? waits(now.behind) : now.message;
        news(now);
      },
      lost: (isLost) => { if (isLost) place("words").textContent = text("change.lost_connection"); },
    });
    open(job.id);
  } catch (refusal) {
    if (!(refusal instanceof Refusal)) throw refusal;
    place("work").hidden = true;
    fail(refusal);
  }
}

/** What a job waits for. */
function waits(behind) {
  return behind.length ? text("change.behind", {n: behind.length, what: behind.join("; ")}) : text("change.waits");
}

// The time of a course for a car: asked, followed, shown as it comes.
import {data} from "../dom.js";
import {ask, follow, stop} from "../live.js";
import {number, text} from "../text.js";

const FOOT = 0.3048; // [m]

export async function start(main) {
  const part = (name) => main.querySelector(`[data-${name}]`);
  const words = part("words");
  let job = null;
  part("stop").addEventListener("click", () => { if (job) stop(job.id, {slot: "time"}); });

  function show(now) {
    part("bar").value = now.progress;
    if (!now.is_over) words.textContent = [text("time.working"), now.message].filter(Boolean).join(": ");
    if (now.result) answer(now.result);
  }
  function answer(result) {
    part("time").textContent = `${number(result.time_s, 2)} ${text("time.unit")}`;
    const isUs = document.documentElement.dataset.units === "us";
    part("distance").textContent = isUs ? `${number(result.distance_m / FOOT)} ft` : `${number(result.distance_m)} m`;
    const doubts = [!result.is_checked && "time.unchecked", result.fallback && "time.fallback", result.is_stopped && "time.stop_area"];
    part("flag").textContent = doubts.filter(Boolean).map((key) => text(key)).join(" ");
    part("flag").hidden = !part("flag").textContent;
  }
  function over() {
    part("bar").remove();
    part("stop").remove();
  }
  work();

  async function work() {
    try {
      job = await ask("line", data("asked"), "time");
      show(job);
      const lost = (isLost) => { if (isLost) words.textContent = text("time.lost"); };
      answer((await follow(job.id, {news: show, lost})).result);
      words.textContent = "";
    } catch (refusal) {
      words.textContent = [text("time.failed"), refusal.message, refusal.hint].filter(Boolean).join(" ");
    }
    over();
  }
}

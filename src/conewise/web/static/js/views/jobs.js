// The list of jobs: bars that move, buttons that stop.
import {follow, stop} from "../live.js";
import {text} from "../text.js";

export function start(main) {
  for (const row of main.querySelectorAll("[data-job]")) {
    const bar = row.querySelector("progress");
    const words = row.querySelector(".words");
    const button = row.querySelector("button");
    button?.addEventListener("click", () => { button.disabled = true; stop(row.dataset.job, {forAll: true}); });
    if (!bar) continue;
    const news = (job) => {
      bar.value = job.progress;
      words.textContent = [text(`job.${job.state}`), job.message].filter(Boolean).join(": ");
    };
    follow(row.dataset.job, {news}).then(() => bar.remove(), () => bar.remove()).finally(() => button?.remove());
  }
}

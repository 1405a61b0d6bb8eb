// The runs to come: times and key speeds are worked out where somebody asks for them.
import {data} from "../dom.js";
import {ask, follow} from "../live.js";
import {number, text} from "../text.js";

export function start(main) {
  const button = main.querySelector("[data-part=solve]");
  button?.addEventListener("click", async () => {
    button.disabled = true;
    const said = main.querySelector("[data-part=solving]");
    try {
      for (const question of data("questions")) {
        const job = await ask("paces", question);
        const news = (now) => {
          said.textContent = text("build.solving", {car: question.car, message: now.message ?? "", share: number(100 * (now.progress ?? 0), 0)});
        };
        if (!job.is_over) await follow(job.id, {news});
      }
      location.reload();
    } catch (refusal) {
      said.textContent = text("build.failed", {message: refusal.message});
      button.disabled = false;
    }
  });
}

// What to change next: gains that sharpen, other budgets, a new question.
import {askByForm, followHere, open} from "../change/asking.js";
import {bestSoFar, Gains} from "../change/gains.js";
import {data} from "../dom.js";
import {ask} from "../live.js";
import {number, text} from "../text.js";
import {numberIn} from "../typed.js";

export function start() {
  const place = (id) => document.getElementById(id);
  const job = data("job");
  const gains = new Gains();
  const {hours, runs} = place("ask-form").elements;
  askByForm(place("ask-form"), "advise", (facts) => ({
    courses: facts.getAll("courses"), car_file: facts.get("car_file"), driver: facts.get("driver"), surface: facts.get("surface"),
    parts: facts.get("parts"), changes: facts.get("changes"), budget: facts.get("budget").trim(), hours: numberIn(hours),
    rules: facts.get("rules"), car_class: facts.get("car_class").trim(), runs: numberIn(runs, {isWhole: true}),
  }));
  money();
  if (data("rows")) gains.show(data("rows"));
  else if (job) {
    const news = ({result, is_over: isOver}) => {
      if (!result?.rows) return;
      place("gains").hidden = false;
      gains.show(result.rows);
      const n = result.rows.filter((row) => row.is_solved).length;
      place("headline").textContent = bestSoFar(result.rows) || text("change.title");
      if (!isOver) place("words").textContent = text("change.so_far", {n, all: result.rows.length});
    };
    if (job.result) news({result: job.result, is_over: job.is_over});
    followHere(job, "advise", {news, hasPart: () => !place("gains").hidden});
  }

  function money() {
    const form = place("money");
    if (!form) return;
    const [rungs, currency] = [data("rungs"), data("currency")];
    const slider = form.elements.money;
    const show = () => {
      const value = Number(slider.value);
      const rung = rungs.findLast((one) => one.price <= value);
      const shown = `${number(value)} ${currency}`.trim();
      place("money-words").textContent = text("change.money", {money: shown});
      slider.setAttribute("aria-valuetext", shown);
      place("money-buys").textContent = rung ? `${text("change.buys", {names: rung.names.join(", ")})}: ${text("change.expected", {gain: number(rung.expected, 2)})}` : text("change.buys_nothing");
    };
    slider.addEventListener("input", show);
    show();
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      open((await ask("advise", {...job.question, budget: `${slider.value} ${currency}`.trim()}, "advise-page")).id);
    });
  }
}

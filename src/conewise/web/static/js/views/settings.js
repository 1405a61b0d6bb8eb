// The search for settings: a question, its progress, the answer as the server writes it.
import {askByForm, followHere} from "../change/asking.js";
import {data} from "../dom.js";

export function start() {
  askByForm(document.getElementById("ask-form"), "settings", (facts) => ({
    courses: facts.getAll("courses"), car_file: facts.get("car_file"), driver: facts.get("driver"), surface: facts.get("surface"), system: data("system"),
  }));
  const job = data("job");
  if (job) followHere(job, "settings");
}

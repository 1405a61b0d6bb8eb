// Loads what the page at hand needs: the look, and the module that <main data-view> names.
import {wearLook} from "./look.js";

const main = document.getElementById("main");

wearLook();
for (const form of document.querySelectorAll(".chosen form")) {
  form.addEventListener("change", (event) => {
    if (event.target.name === "event") for (const other of form.querySelectorAll("select:not([name=event])")) other.disabled = true;
    form.requestSubmit();
  });
}
const name = main?.dataset.view;
if (name) {
  const view = await import(`./views/${name}.js`);
  await view.start(main);
}
document.body.dataset.ready = "yes";

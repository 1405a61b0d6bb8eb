// A phone shows the code that its camera read. It stands behind the # and is taken out of the address at once.
import {request, showRefusal} from "../request.js";

export function start(main) {
  const code = location.hash.slice(1);
  const form = main.querySelector("form");
  history.replaceState(null, "", "/pair");
  if (!code) return;
  form.hidden = false;
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const button = form.querySelector("button");
    button.disabled = true;
    try {
      const told = await request("/api/pair", {send: {code, device: form.elements.device.value}});
      location.replace(told.to);
    } catch (refusal) {
      showRefusal(form, refusal);
      button.disabled = refusal.code !== "unreachable";
    }
  });
}

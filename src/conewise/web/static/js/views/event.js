// The event: ticks of the packing list and money go to the book at once.
import {address, shownAnew} from "../field/board.js";
import {newId} from "../field/outbox.js";
import {request, showRefusal} from "../request.js";

export function start(main) {
  if (!main.querySelector("#board")) return;
  main.addEventListener("change", async (event) => {
    const box = event.target;
    if (box.name !== "item") return;
    try {
      await request(address(main, "packing"), {send: {item: box.value, is_packed: box.checked}});
    } catch (refusal) {
      box.checked = !box.checked;
      showRefusal(box.form, refusal);
    }
  });
  main.addEventListener("submit", async (event) => {
    const form = event.target;
    event.preventDefault();
    const sent = Object.fromEntries(new FormData(form));
    if (form.dataset.send === "expenses") sent.id = newId();
    try {
      await request(address(main, form.dataset.send), {send: sent});
      await shownAnew(main);
    } catch (refusal) {
      showRefusal(form, refusal);
    }
  });
}

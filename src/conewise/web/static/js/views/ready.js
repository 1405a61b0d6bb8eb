// The board: a tap writes down what was seen; the board is shown anew, and for ten seconds the tap can be taken back.
import {address, shownAnew} from "../field/board.js";
import {newId} from "../field/outbox.js";
import {request, showRefusal} from "../request.js";
import {text} from "../text.js";

const UNDO = 10_000; // [ms]
const LOOKER = "conewise-looker";
let undoing = 0;

export function start(main) {
  if (!main.querySelector("#board")) return;
  wear(main);
  main.addEventListener("submit", (event) => {
    event.preventDefault();
    send(main, event.target, event.submitter);
  });
  main.addEventListener("change", (event) => {
    if (event.target.name === "looked_by") localStorage.setItem(LOOKER, event.target.value);
  });
}

// Who looks on this device stays who looks.
function wear(main) {
  const looker = main.querySelector("[name=looked_by]");
  const kept = localStorage.getItem(LOOKER);
  if ([...looker.options].some((option) => option.value === kept)) looker.value = kept;
}

async function send(main, form, button) {
  const sent = Object.fromEntries(new FormData(form, button));
  sent.looked_by = main.querySelector("[name=looked_by]").value;
  const path = form.dataset.send;
  if (["car-looks", "reports", "loans"].includes(path)) sent.id = newId();
  if ("version" in sent) sent.version = Number(sent.version);
  try {
    await request(address(main, path), {send: sent});
  } catch (refusal) {
    if (refusal.code === "looked-meanwhile" || refusal.code === "record-changed") await boardAnew(main);
    const again = [...main.querySelectorAll("form")].find((one) => same(one, form)) ?? form;
    showRefusal(again, refusal);
    return;
  }
  await boardAnew(main);
  offerUndo(main, form.dataset.undo && {path: `${form.dataset.undo}/${sent.id}/taken-back`, sent: {looked_by: sent.looked_by}});
}

function same(one, other) {
  const said = (form) => [form.dataset.send, ...[...form.elements].filter((field) => field.type === "hidden" && !["seen", "version"].includes(field.name)).map((field) => field.value)].join(" ");
  return said(one) === said(other);
}

async function boardAnew(main) {
  await shownAnew(main);
  wear(main);
}

function offerUndo(main, undo) {
  const bar = main.querySelector(".undo");
  clearTimeout(undoing);
  bar.hidden = false;
  bar.firstElementChild.textContent = text("ready.saved");
  const button = bar.querySelector("button");
  button.hidden = !undo;
  button.onclick = async () => {
    bar.hidden = true;
    await request(address(main, undo.path), {send: undo.sent});
    await boardAnew(main);
  };
  undoing = setTimeout(() => {
    bar.hidden = true;
  }, UNDO);
}

// Run entry as one: the list that is known, the outbox, the pad and the rows. Used by the page on the laptop and the phone's.
import {request} from "../request.js";
import {text} from "../text.js";
import {Outbox} from "./outbox.js";
import {Pad} from "./pad.js";
import {refusedRows, runRows} from "./run_rows.js";
import {runsSoFar} from "./run_order.js";
import {send} from "./sending.js";

const REFRESH = 15_000; // [ms]

export async function startDesk(root, brought) {
  const desk = {list: brought, waiting: []};
  const event = brought.event.id;
  const part = (name) => root.querySelector(`[data-part=${name}]`);
  const outbox = await Outbox.open({send: sendAndLook, changed: () => refresh()});
  const pad = new Pad(part("pad"), {outbox, list: () => desk.list, waiting: () => desk.waiting});

  async function refresh() {
    desk.waiting = (await outbox.entries()).filter((entry) => entry.event === event);
    const n = desk.waiting.filter((entry) => entry.state !== "refused").length;
    const state = part("state");
    const nRefused = desk.waiting.length - n;
    const words = outbox.isShut ? "run.shut" : outbox.reachable === false ? "run.away" : "run.going";
    state.textContent = n ? text(words, {n}) : nRefused ? text("run.needs", {n: nRefused}) : text("run.all_there");
    state.classList.toggle("flag", nRefused > 0 || (n > 0 && outbox.reachable === false));
    const refused = refusedRows(desk.list, desk.waiting, outbox);
    part("refused").hidden = !refused.length;
    part("refused").querySelector("ul").replaceChildren(...refused);
    part("runs").replaceChildren(...runRows(desk.list, runsSoFar(desk.list, desk.waiting), {correct: (run) => pad.correct(run)}));
    pad.show();
    desk.onchange?.(desk);
  }

  // What the laptop does not want as it is may have come from somebody else: the list is asked for with it.
  async function sendAndLook(entry) {
    const outcome = await send(entry);
    if (!outcome.taken) await fetchList();
    return outcome;
  }

  function learn(list) {
    desk.list = list;
    outbox.keepFact(`list ${event}`, {list, at: Date.now()});
  }

  // What the laptop has now; out of range the list stays as it was.
  async function fetchList() {
    try {
      learn(await request(`/api/events/${event}/run-list`));
      outbox.reached(true);
    } catch (refusal) {
      outbox.reached(false, refusal.code);
      return;
    }
    await refresh();
  }

  outbox.taken = (entry, answer) => {
    if (entry.event !== event) return;
    const others = desk.list.runs.filter((run) => run.id !== (entry.kind === "run" ? entry.id : entry.run));
    learn({...desk.list, runs: answer?.written === undefined ? others : [...others, answer]});
  };
  const kept = await outbox.fact(`list ${event}`);
  if (kept && kept.at > brought.made_at) desk.list = kept.list;
  else learn(brought);
  await refresh();
  await pad.restore();
  outbox.flush();
  addEventListener("pageshow", fetchList);
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && fetchList());
  setInterval(() => document.visibilityState === "visible" && fetchList(), REFRESH);
  return Object.assign(desk, {outbox, pad, fetchList});
}

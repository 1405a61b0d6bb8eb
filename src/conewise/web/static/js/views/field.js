// The phone's page: once it is open it needs no answer from the laptop. Parts are shown and hidden, nothing is fetched for them.
import {data} from "../dom.js";
import {Drill} from "../field/drill.js";
import {showCard} from "../field/run_card.js";
import {Outbox} from "../field/outbox.js";
import {startDesk} from "../field/run_desk.js";
import {download, savedPage} from "../field/saved.js";
import {showWalk} from "../field/walk_sheet.js";
import {request} from "../request.js";
import {text} from "../text.js";

const REFRESH = 60_000; // of what the laptop works out anew [ms]

export async function start(main) {
  let pack = data("pack");
  if (!pack) return;
  wearKeptLook();
  const event = pack.list.event.id;
  const part = (name) => main.querySelector(`[data-page=${name}]`);
  const desk = part("runs") ? await startDesk(main, pack.list) : {waiting: [], outbox: await Outbox.open({send: null})};
  const {outbox} = desk;
  desk.onchange = () => {
    const said = main.querySelector("[data-part=waiting]");
    said.textContent = main.querySelector("[data-part=state]").textContent;
    said.hidden = !desk.waiting.length || !part("runs").hidden;
  };
  const kept = await outbox.fact(`pack ${event}`);
  if (kept && kept.list.made_at > pack.list.made_at) pack = kept;
  else await outbox.keepFact(`pack ${event}`, pack);
  let mine = (await outbox.fact("driver")) ?? "";
  let known = (await outbox.fact(`drill ${event}`)) ?? {};

  function card() {
    showCard(part("card").querySelector("[data-part=card]"), pack, mine, {
      drill: known.at ? text("field.drill_known", {when: clock(known.at)}) : text("field.drill_open"),
      choose: (driver) => {
        mine = driver;
        outbox.keepFact("driver", driver);
        card();
      },
    });
  }

  function learned(stage) {
    known = {at: Date.now(), stage: Math.max(stage, known.stage ?? 0)};
    outbox.keepFact(`drill ${event}`, known);
    card();
  }

  if (part("walk")) showSheets();
  turnPages(main, await outbox.fact("page"), (name) => {
    outbox.keepFact("page", name);
    if (part("runs")) desk.onchange();
  });

  function showSheets() {
    showWalk(part("walk").querySelector("[data-part=walk]"), pack.course);
    card();
    if (pack.course) new Drill(part("drill").querySelector("[data-part=drill]"), pack.course, {stage: 0, known: learned});
    main.querySelector("[data-part=save-file]").addEventListener("click", save);
  }

  function save() {
    const names = new Map(pack.list.entries.map((entry) => [entry.driver, entry.name]));
    const waiting = desk.waiting.filter((entry) => entry.kind === "run").map((entry) => ({...entry, name: names.get(entry.driver) ?? entry.driver}));
    const parts = [part("walk").querySelector("[data-part=walk]"), part("card").querySelector("[data-part=card]")];
    download(`${event}-walk-and-card.html`, savedPage(pack.list.event.name, parts, waiting));
  }

  setInterval(async () => {
    if (document.visibilityState !== "visible" || outbox.reachable === false) return;
    try {
      pack = await request(`/api/events/${event}/field`);
    } catch (refusal) {
      outbox.reached(false, refusal.code);
      return;
    }
    await outbox.keepFact(`pack ${event}`, pack);
    if (part("card")) card();
  }, REFRESH);
}

function clock(moment) {
  return new Date(moment).toTimeString().slice(0, 5);
}

// A page that the browser kept wears the look that was chosen last.
function wearKeptLook() {
  const look = /(?:^|; )conewise-look=(\w+)/.exec(document.cookie)?.[1];
  if (!look) return;
  document.documentElement.dataset.look = look;
  const input = document.querySelector(`.looks input[value=${look}]`);
  if (input) input.checked = true;
}

function turnPages(main, first, turned) {
  const buttons = [...document.querySelectorAll("[data-to]")];
  const show = (name) => {
    for (const page of main.querySelectorAll("[data-page]")) page.hidden = page.dataset.page !== name;
    for (const button of buttons) button.setAttribute("aria-pressed", String(button.dataset.to === name));
  };
  for (const button of buttons) {
    button.addEventListener("click", () => {
      show(button.dataset.to);
      turned(button.dataset.to);
      scrollTo(0, 0);
    });
  }
  const names = buttons.map((button) => button.dataset.to);
  show([first, "runs", names[0]].find((name) => names.includes(name)));
}

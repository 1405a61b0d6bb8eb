// The runs below the pad: what waits on this device, what the laptop has, what it does not want as it is.
import {element} from "../dom.js";
import {number, text} from "../text.js";

const N_SHOWN = 40;

/** Rows of the latest runs; `correct(run)` is called where one is to be corrected. */
export function runRows(list, runs, {correct}) {
  const names = new Map(list.entries.map((entry) => [entry.driver, entry]));
  const when = (run) => (run.waits && run.at ? [1, run.at] : [0, Date.parse(run.driven_at || 0) || 0]);
  const latest = [...runs].sort((a, b) => when(b)[0] - when(a)[0] || when(b)[1] - when(a)[1] || b.run - a.run);
  return latest.slice(0, N_SHOWN).map((run) => {
    const entry = names.get(run.driver);
    const total = run.total_s === undefined || run.total_s === null ? "" : text("run.total", {total: number(run.total_s, 3)});
    return element(
      "li",
      {class: "run-row"},
      element("span", {class: "run-who"}, text("run.row", {name: entry?.name ?? run.driver, run: run.run})),
      element("strong", {}, run.written ?? run.time),
      element("span", {class: "note"}, run.waits ? text("run.waits") : total),
      run.waits ? null : element("button", {type: "button", class: "second", onclick: () => correct(run)}, text("run.correct")),
      run.history?.length > 1 ? history(run) : null,
    );
  });
}

function history(run) {
  return element(
    "details",
    {class: "done run-history"},
    element("summary", {}, text("run.corrected", {n: run.history.length - 1})),
    element("ol", {class: "plain"}, ...run.history.map((one) => element("li", {}, [one.written, one.by, one.reason].filter(Boolean).join(", ")))),
  );
}

/** What the laptop did not take, with what a person may decide. */
export function refusedRows(list, waiting, outbox) {
  const names = new Map(list.entries.map((entry) => [entry.driver, entry.name]));
  return waiting.filter((entry) => entry.state === "refused").map((entry) => {
    const answers = [];
    const isThere = entry.kind === "run" && entry.refused.code === "run-there";
    if (isThere) {
      const following = Math.max(0, ...list.runs.filter((run) => run.driver === entry.driver).map((run) => run.run)) + 1;
      answers.push(answer(text("run.another", {run: following}), () => again(outbox, {...entry, run: following})));
      answers.push(answer(text("run.same"), () => outbox.drop(entry.place)));
    } else {
      answers.push(answer(text("run.again"), () => again(outbox, entry)));
      answers.push(answer(text("run.drop"), () => outbox.drop(entry.place)));
    }
    const what = text("run.row", {name: names.get(entry.driver) ?? entry.driver, run: entry.kind === "run" ? entry.run : "–"});
    return element(
      "li",
      {},
      element("p", {}, element("strong", {}, `${what}: ${entry.time ?? text("run.back")}`)),
      element("p", {class: "flag"}, isThere ? entry.refused.message : `${entry.refused.message} ${entry.refused.hint}`),
      element("div", {class: "gloves"}, ...answers),
    );
  });
}

function answer(words, onclick) {
  return element("button", {type: "button", class: "second glove", onclick}, words);
}

async function again(outbox, entry) {
  const {refused, ...rest} = entry;
  await outbox.put({...rest, state: "waiting"});
  outbox.flush();
}

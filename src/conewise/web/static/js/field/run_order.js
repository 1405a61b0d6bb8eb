// Who drives next, and which run it is: from the run list of the laptop and from what waits on this device.

const entryKey = (one) => `${one.driver} ${one.car}`;

/** Runs of the laptop with those that wait here; what is being taken back is left out. */
export function runsSoFar(list, waiting) {
  const back = new Set(waiting.filter((entry) => entry.kind === "back").map((entry) => entry.run));
  const known = new Set(list.runs.map((run) => run.id));
  const own = waiting
    .filter((entry) => entry.kind === "run" && !known.has(entry.id) && !back.has(entry.id))
    .map((entry) => ({...entry, id: entry.id, waits: true}));
  const corrected = new Map(waiting.filter((entry) => entry.kind === "correct").map((entry) => [entry.run, entry]));
  const kept = list.runs.filter((run) => !back.has(run.id)).map((run) => {
    const correction = corrected.get(run.id);
    return correction ? {...run, written: correction.time, waits: true, refused: correction.refused} : run;
  });
  return [...kept, ...own];
}

/** Number of the next run of a driver. */
export function nextRun(runs, driver) {
  return Math.max(0, ...runs.filter((run) => run.driver === driver).map((run) => run.run)) + 1;
}

function nDriven(runs, entry) {
  return runs.filter((run) => run.driver === entry.driver && run.car === entry.car && !run.is_void).length;
}

/** Entries in the order in which they are likely to come: behind the last that drove, round its heat, then the others. */
export function inOrder(list, runs) {
  const {entries} = list;
  const places = new Map(entries.map((entry, place) => [entryKey(entry), place]));
  const when = (run) => run.at ?? (run.driven_at ? Date.parse(run.driven_at) : 0);
  let last = null;
  for (const run of runs) {
    const place = places.get(entryKey(run));
    if (place === undefined) continue;
    const moment = [run.waits && run.at ? 1 : 0, when(run), place];
    if (!last || compare(moment, last.moment) > 0) last = {moment, place};
  }
  const open = (entry) => nDriven(runs, entry) < list.n_runs;
  const start = last ? last.place : -1;
  const heat = last ? entries[start].heat : entries[0]?.heat;
  const round = [...entries.slice(start + 1), ...entries.slice(0, start + 1)];
  return [
    ...round.filter((entry) => entry.heat === heat && open(entry)),
    ...entries.filter((entry) => entry.heat !== heat && open(entry)),
    ...entries.filter((entry) => !open(entry)),
  ];
}

function compare(a, b) {
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return a[i] - b[i];
  return 0;
}

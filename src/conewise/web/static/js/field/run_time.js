// A run as it is typed: the same rules as conewise/event/run_time.py, for a page that is out of range of the laptop.
// The laptop reads the text again; a test holds both to each other.

const WORDS = ["dnf", "dns", "dsq", "off"];
const RE_RUN = ["re-run", "rerun", "re run"];
const FORM = /^([\d:.,]*)\s*(?:\+\s*(\d{1,2})|\(\s*(\d{1,2})\s*\))?\s*([a-z][a-z -]*)?$/i;
const SHORTEST = 5;
const LONGEST = 600;
export const MANY_CONES = 10;

const plain = (problem) => ({problem, readings: []});

function seconds(time) {
  let found = /^(\d{1,3})[.,](\d{1,4})$/.exec(time);
  if (found) return {value: Number(`${found[1]}.${found[2]}`)};
  found = /^(\d{1,2}):([0-5]\d)(?:[.,](\d{1,4}))?$/.exec(time);
  if (found) return {value: 60 * Number(found[1]) + Number(`${found[2]}.${found[3] ?? 0}`)};
  if (/^\d{5}$/.test(time)) return {value: Number(time) / 1000};
  if (/^\d{6}$/.test(time)) {
    const minutes = `${time[0]}:${time.slice(1, 3)}.${time.slice(3)}`;
    return {problem: "two", readings: [minutes, `${time.slice(0, 3)}.${time.slice(3)}`]};
  }
  if (/^\d{4}$/.test(time)) return {problem: "two", readings: [`${time.slice(0, 2)}.${time.slice(2)}`, `${time[0]}.${time.slice(1)}`]};
  if (/^\d{1,3}$/.test(time)) return plain("short");
  return plain("form");
}

// What a text says: {rawTime, cones, outcome, isVoid}, or {problem, readings}. `problem` is "empty", "form", "word",
// "missing", "dns", "short", "two" or "range"; `readings` are the times it could mean, as far as a run can take them.
export function readRun(text) {
  const typed = text.trim();
  if (!typed) return plain("empty");
  const found = FORM.exec(typed);
  if (!found) return plain("form");
  const [, time, plus, bracket, said] = found;
  const word = (said ?? "").replace(/\s+/g, " ").trim().toLowerCase();
  if (word && !WORDS.includes(word) && !RE_RUN.includes(word)) return plain("word");
  const cones = Number(plus ?? bracket ?? 0);
  let rawTime = null;
  if (time) {
    const read = seconds(time);
    if (read.problem) return {problem: read.problem, readings: read.readings.filter((one) => inRange(one))};
    if (read.value < SHORTEST || read.value > LONGEST) return plain("range");
    rawTime = Math.round(read.value * 1e4) / 1e4;
  }
  if (rawTime === null && !word) return plain("missing");
  if (word === "dns" && (rawTime !== null || cones)) return plain("dns");
  return {rawTime, cones, outcome: WORDS.includes(word) ? word : rawTime === null ? "dnf" : "timed", isVoid: RE_RUN.includes(word)};
}

function inRange(time) {
  const {value} = seconds(time);
  return value !== undefined && value >= SHORTEST && value <= LONGEST;
}

// What is sent for what was tapped: digits, cones and a word ("", "DNF", "OFF", "re-run").
export function writtenRun(digits, cones, word) {
  const time = digits + (cones ? `+${cones}` : "");
  return [time, word].filter(Boolean).join(" ");
}

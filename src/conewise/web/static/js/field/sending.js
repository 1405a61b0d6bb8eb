// How an entry of the outbox goes to the laptop, and what its answer means.
import {request} from "../request.js";

// The laptop is busy, or does not know this device any more: the entry stays and is sent again.
const LATER = new Set([401, 403, 429, "book-locked", "book-replaced", "disk-full"]);

/** Sends one entry; see Outbox.open. */
export async function send(entry) {
  try {
    return {taken: true, answer: await request(...asked(entry))};
  } catch (refusal) {
    if (refusal.code === "run-taken-back") return {taken: true, answer: null};
    if (!refusal.status || refusal.status >= 500 || LATER.has(refusal.status) || LATER.has(refusal.code)) throw refusal;
    const {code, message, hint} = refusal;
    return {taken: false, refused: {code, message, hint}};
  }
}

function asked(entry) {
  const runs = `/api/events/${entry.event}/runs`;
  if (entry.kind === "back") return [`${runs}/${entry.run}/taken-back`, {send: {}}];
  if (entry.kind === "correct") {
    return [`${runs}/${entry.run}/corrections`, {send: {version: entry.version, time: entry.time, reason: entry.reason}}];
  }
  const age = Math.max(0, Math.round((Date.now() - entry.at) / 1000));
  return [runs, {send: {id: entry.id, driver: entry.driver, car: entry.car, run: entry.run, time: entry.time, waited: age}}];
}

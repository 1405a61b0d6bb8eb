// What was entered on this device and is not yet in the book: kept in IndexedDB, sent in order, taken off when the
// laptop has confirmed it. Nothing here needs an answer from the laptop, and nothing is sent by two pages at once.

const DATABASE = "conewise-field";
const ENTRIES = "entries";
const FACTS = "facts";
const PAUSE = 5_000; // before the laptop is asked again [ms]
const PATIENCE = 8_000; // for an answer [ms]

// An id that no other device makes: 96 random bits. Needs no secure context.
export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return "e-" + [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

function asked(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

async function opened() {
  const request = indexedDB.open(DATABASE, 1);
  request.onupgradeneeded = () => {
    request.result.createObjectStore(ENTRIES, {keyPath: "place", autoIncrement: true}).createIndex("id", "id", {unique: true});
    request.result.createObjectStore(FACTS);
  };
  return asked(request);
}

// Done when what was written is on the device's disk.
function finished(transaction) {
  return new Promise((resolve, reject) => {
    transaction.oncomplete = resolve;
    transaction.onabort = transaction.onerror = () => reject(transaction.error);
  });
}

export class Outbox {
  // `send` is given an entry and resolves to {taken: true, answer}, {taken: false, refused} where the laptop does not
  // want it as it is, or throws where the laptop is out of reach. `changed` is called after every change.
  static async open({send, changed = () => {}, now = () => Date.now()}) {
    const box = new Outbox();
    Object.assign(box, {send, changed, now, base: await opened(), busy: null, timer: 0, reachable: null, isShut: false});
    const again = () => box.flush();
    addEventListener("online", again);
    addEventListener("pageshow", again);
    document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && again());
    document.addEventListener("resume", again);
    return box;
  }

  transaction(store, mode = "readwrite") {
    return this.base.transaction(store, mode, {durability: "strict"});
  }

  // Keeps an entry and returns it; it is on the disk of the device then.
  async add(entry) {
    const kept = {...entry, id: entry.id ?? newId(), at: this.now(), state: "waiting"};
    const transaction = this.transaction(ENTRIES);
    const done = finished(transaction);
    kept.place = await asked(transaction.objectStore(ENTRIES).add(kept));
    await done;
    await this.changed();
    this.flush();
    return kept;
  }

  async entries() {
    return asked(this.transaction(ENTRIES, "readonly").objectStore(ENTRIES).getAll());
  }

  // Changes an entry that is still here: another page of this device may have sent it meanwhile.
  async put(entry) {
    const transaction = this.transaction(ENTRIES);
    const done = finished(transaction);
    const store = transaction.objectStore(ENTRIES);
    if ((await asked(store.getKey(entry.place))) !== undefined) store.put(entry);
    await done;
    await this.changed();
  }

  // Takes an entry off that waits or was refused; false where it is on its way or gone already.
  async drop(place) {
    const transaction = this.transaction(ENTRIES);
    const done = finished(transaction);
    const store = transaction.objectStore(ENTRIES);
    const entry = await asked(store.get(place));
    const free = entry !== undefined && entry.state !== "sending";
    if (free) store.delete(place);
    await done;
    await this.changed();
    return free;
  }

  async keepFact(key, value) {
    const transaction = this.transaction(FACTS);
    const done = finished(transaction);
    transaction.objectStore(FACTS).put(value, key);
    await done;
  }

  async fact(key) {
    return asked(this.transaction(FACTS, "readonly").objectStore(FACTS).get(key));
  }

  // Sends what waits, one after another; only one page of this device at a time where the browser can see to it.
  flush() {
    this.busy ??= this.sendAll().finally(() => {
      this.busy = null;
    });
    return this.busy;
  }

  async sendAll() {
    clearTimeout(this.timer);
    for (;;) {
      const entry = (await this.entries()).find((one) => one.state === "waiting" || one.state === "sending");
      if (!entry) return;
      await this.put({...entry, state: "sending"});
      let outcome;
      try {
        outcome = await Promise.race([
          this.send(entry),
          new Promise((_, reject) => setTimeout(() => reject(new Error("no answer")), PATIENCE)),
        ]);
      } catch (failure) {
        await this.put({...entry, state: "waiting"});
        this.reached(false, failure.code);
        this.timer = setTimeout(() => this.flush(), PAUSE);
        return;
      }
      this.reached(true);
      if (outcome.taken) await this.remove(entry, outcome.answer);
      else await this.put({...entry, state: "refused", refused: outcome.refused});
    }
  }

  async remove(entry, answer) {
    const transaction = this.transaction(ENTRIES);
    const done = finished(transaction);
    transaction.objectStore(ENTRIES).delete(entry.place);
    await done;
    this.taken?.(entry, answer);
    this.changed();
  }

  // Whether the laptop answered; `code` of its refusal where it did and this device may not ask.
  reached(is, code = "") {
    const isShut = code === "not-let-in" || code === "not-allowed";
    if (this.reachable === is && this.isShut === isShut) return;
    Object.assign(this, {reachable: is, isShut});
    this.changed();
  }
}

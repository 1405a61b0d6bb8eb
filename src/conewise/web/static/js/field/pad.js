// Run entry: a driver, digits, cones, one tap to keep. Everything goes to the outbox first; the laptop takes it from there.
import {element} from "../dom.js";
import {number, text} from "../text.js";
import {newId} from "./outbox.js";
import {tallest} from "./room.js";
import {inOrder, nextRun, runsSoFar} from "./run_order.js";
import {MANY_CONES, readRun, writtenRun} from "./run_time.js";

const N_NEXT = 4; // drivers in sight without another tap
const MOST_KEYS = 9; // of a time
const UNDO = 10_000; // [ms]
const TREMBLE = 600; // a second tap of the same hand, with nothing between, is not for the next driver [ms]
const LONG = {run: 8, time: "88.888+8"}; // as long as they come on a day
const ENDS = new Set(["save", "DNF", "OFF", "re-run"]);
const KEYS = {Backspace: "delete", Enter: "save", "+": "cone", "-": "no-cone", ",": "."};

export class Pad {
  // `list()` gives the run list as it is known, `waiting()` what is in the outbox.
  constructor(root, {outbox, list, waiting}) {
    Object.assign(this, {root, outbox, list, waiting, undoing: 0, chosen: null, correcting: null, keeping: null, keptAt: -TREMBLE});
    this.clear();
    new ResizeObserver(() => this.makeRoom()).observe(root);
    root.addEventListener("click", (event) => {
      const key = event.target.closest("[data-key]")?.dataset.key;
      if (key) this.press(key);
    });
    document.addEventListener("keydown", (event) => {
      if (event.target.matches("input, select, textarea, button") && event.key === "Enter") return;
      if (event.ctrlKey || event.metaKey || event.altKey || root.closest("[hidden]")) return;
      const key = /^[0-9.:]$/.test(event.key) ? event.key : KEYS[event.key];
      if (!key) return;
      event.preventDefault();
      this.press(key);
    });
  }

  part(name) {
    return this.root.querySelector(`[data-part=${name}]`);
  }

  clear() {
    this.digits = "";
    this.cones = 0;
    this.correcting = null;
    this.chosen = null;
    this.asksCones = false;
  }

  // Heading and undo are as tall as the longest name of the event wants them: no name is cut, and no key moves.
  makeRoom() {
    const {entries} = this.list();
    const width = this.root.clientWidth;
    if (!width || (this.room?.entries === entries && this.room.width === width)) return;
    this.room = {entries, width};
    const [who, undo] = [this.part("who"), this.part("undo")];
    const heading = tallest(who, entries.map((one) => text("run.who", {name: one.name, car: one.car_name, run: LONG.run})));
    const bar = tallest(undo, entries.map((one) => text("run.kept", {name: one.name, ...LONG})), (twin) => twin.querySelector("span"));
    who.style.setProperty("min-height", `${heading}px`);
    undo.parentElement.style.setProperty("min-height", `${bar}px`);
  }

  async restore() {
    const draft = await this.outbox.fact(`draft ${this.list().event.id}`);
    if (draft && !draft.correcting) Object.assign(this, draft);
    this.show();
  }

  get runs() {
    return runsSoFar(this.list(), this.waiting());
  }

  get entry() {
    const {entries} = this.list();
    const same = (one) => this.chosen && one.driver === this.chosen.driver && one.car === this.chosen.car;
    return entries.find(same) ?? inOrder(this.list(), this.runs)[0] ?? null;
  }

  press(key) {
    if (!ENDS.has(key)) this.keptAt = -TREMBLE;
    if (/^[0-9.:]$/.test(key)) {
      if (this.digits.length < MOST_KEYS) this.digits += key;
    } else if (key === "delete") this.digits = this.digits.slice(0, -1);
    else if (key === "cone") this.cones = Math.min(this.cones + 1, 99);
    else if (key === "no-cone") this.cones = Math.max(this.cones - 1, 0);
    else if (key === "save") return this.save("");
    else return this.save(key);
    this.asksCones = false;
    this.keepDraft();
    return this.show();
  }

  choose(entry) {
    this.keptAt = -TREMBLE;
    this.chosen = {driver: entry.driver, car: entry.car};
    this.part("all").open = false;
    this.keepDraft();
    this.show();
  }

  keepDraft() {
    const {digits, cones, chosen, correcting} = this;
    this.outbox.keepFact(`draft ${this.list().event.id}`, {digits, cones, chosen, correcting});
  }

  // The run as it stands on the pad with a word ("", "DNF", "OFF", "re-run"); asks where it is not clear.
  async save(word) {
    if (performance.now() - this.keptAt < TREMBLE) return;
    await this.keeping;
    const time = writtenRun(this.digits, this.cones, word);
    const read = readRun(time);
    if (read.problem || !this.entry) this.show(true);
    else if (this.cones >= MANY_CONES && !this.asksCones) {
      this.asksCones = true;
      this.show();
    } else if (this.correcting) this.correctAs(time);
    else await this.keep(time, read.isVoid);
  }

  // The pad is free for the next run at once; what cannot be kept comes back to it.
  async keep(time, isVoid) {
    const {digits, cones, chosen} = this;
    const {driver, car, name} = this.entry;
    const run = nextRun(this.runs, driver);
    const adding = this.outbox.add({kind: "run", event: this.list().event.id, driver, car, time, run, is_void: isVoid});
    this.keeping = adding.catch(() => null);
    this.keptAt = performance.now();
    this.clear();
    try {
      const kept = await adding;
      this.offerUndo(kept, name);
    } catch (error) {
      if (!this.digits) Object.assign(this, {digits, cones, chosen});
      throw error;
    } finally {
      this.keepDraft();
      this.show();
    }
  }

  offerUndo(kept, name) {
    const bar = this.part("undo");
    clearTimeout(this.undoing);
    bar.querySelector("span").textContent = text("run.kept", {name, run: kept.run, time: kept.time});
    bar.hidden = false;
    bar.querySelector("button").onclick = () => {
      bar.hidden = true;
      this.takeBack(kept);
    };
    this.undoing = setTimeout(() => {
      bar.hidden = true;
    }, UNDO);
  }

  // Off this device where it still waits; else the laptop is told.
  async takeBack(kept) {
    if (await this.outbox.drop(kept.place)) return this.renumber(kept);
    return this.outbox.add({id: newId(), kind: "back", event: kept.event, run: kept.id, driver: kept.driver});
  }

  // Runs of the same driver that wait behind a dropped one move up.
  async renumber(dropped) {
    for (const other of await this.outbox.entries()) {
      const behind = other.kind === "run" && other.driver === dropped.driver && other.run > dropped.run;
      if (behind && other.state === "waiting") await this.outbox.put({...other, run: other.run - 1});
    }
  }

  // A run of the list is put on the pad to be corrected.
  correct(run) {
    this.clear();
    const found = /^([\d.:,]*)(?:\+(\d+))?/.exec(run.written);
    this.correcting = run;
    this.digits = found[1];
    this.cones = Number(found[2] ?? 0);
    this.chosen = {driver: run.driver, car: run.car};
    this.show();
    this.root.scrollIntoView({block: "start"});
  }

  correctAs(time) {
    this.correctedTime = time;
    return this.show();
  }

  async keepCorrection(reason) {
    const run = this.correcting;
    await this.outbox.add({
      kind: "correct", event: this.list().event.id, run: run.id, version: run.version, time: this.correctedTime ?? writtenRun(this.digits, this.cones, ""),
      reason, driver: run.driver,
    });
    this.correctedTime = null;
    this.clear();
    this.keepDraft();
    this.show();
  }

  show(isAsked = false) {
    this.showDrivers();
    this.showReading(isAsked);
    this.showCorrection();
  }

  showDrivers() {
    this.makeRoom();
    const {runs} = this;
    const chosen = this.entry;
    const ordered = inOrder(this.list(), runs);
    const shown = ordered.slice(0, N_NEXT);
    if (chosen && !shown.includes(chosen)) shown.splice(0, shown.length === N_NEXT ? 1 : 0, chosen);
    this.part("next").replaceChildren(...shown.map((entry) => this.driver(entry, entry === chosen, true)));
    this.part("everyone").replaceChildren(...this.list().entries.map((entry) => this.driver(entry, entry === chosen, false)));
    this.part("who").textContent = chosen
      ? text("run.who", {name: chosen.name, car: chosen.car_name, run: this.correcting?.run ?? nextRun(runs, chosen.driver)})
      : text("run.nobody");
  }

  driver(entry, isChosen, isShort) {
    const name = isShort ? entry.name.split(" ")[0] : `${entry.name}, ${entry.car_name}`;
    return element(
      "button",
      {type: "button", class: "driver", "aria-pressed": String(isChosen), onclick: () => this.choose(entry)},
      element("strong", {}, entry.number || "–"),
      element("span", {}, name),
    );
  }

  showReading(isAsked) {
    const read = readRun(writtenRun(this.digits, this.cones, ""));
    const ask = this.part("ask");
    const save = this.part("save");
    ask.replaceChildren();
    save.hidden = false;
    save.textContent = text("run.save");
    this.part("time").textContent = this.digits || "–";
    this.part("cones").textContent = this.cones ? text("run.cones", {n: this.cones}) : "";
    let said = "";
    if (read.problem === "two" && read.readings.length) {
      said = text("run.two");
      save.hidden = true;
      ask.append(...read.readings.map((one) => this.answer(text("run.as", {time: one}), () => {
        this.digits = one;
        this.save("");
      })));
    } else if (read.problem) said = isAsked || this.digits.length > 4 ? text(`run.problem.${read.problem}`) : "";
    else if (this.list().cone_s !== null) said = text("run.reading", {raw: number(read.rawTime, 3), total: number(read.rawTime + this.list().cone_s * read.cones, 3)});
    if (this.asksCones) {
      said = text("run.many", {n: this.cones});
      save.textContent = text("run.sure", {n: this.cones});
    }
    this.part("reading").textContent = said;
  }

  answer(words, onclick) {
    return element("button", {type: "button", onclick}, words);
  }

  showCorrection() {
    const bar = this.part("correcting");
    bar.hidden = !this.correcting;
    if (!this.correcting) return;
    this.part("save").hidden = true;
    const run = this.correcting;
    bar.querySelector("p").textContent = text("run.correcting", {run: run.run, was: run.written});
    const words = this.correctedTime ? writtenRun("", 0, this.correctedTime) : writtenRun(this.digits, this.cones, "");
    const read = readRun(words);
    bar.querySelector("div").replaceChildren(
      ...["cones", "typed", "timer", "rerun"].map((name) => {
        const button = this.answer(text(`run.reason.${name}`), () => this.keepCorrection(text(`run.reason.${name}`)));
        button.disabled = Boolean(read.problem);
        return button;
      }),
      element("button", {type: "button", class: "second", onclick: () => {
        this.clear();
        this.show();
      }}, text("run.leave")),
    );
    if (this.correctedTime) this.part("reading").textContent = text("run.as", {time: this.correctedTime});
  }
}

// Recordings on their way: sent, read, asked about, worked out. Each row says its place; the shown answer stays.
import {element} from "../dom.js";
import {ask, follow, heard, putAway, stop} from "../live.js";
import {Refusal, request} from "../request.js";
import {text} from "../text.js";
import {questionForm} from "./questions.js";
import {toldRun} from "./told_run.js";

/** The rows of a list; `asked()` gives what a recording is of; `shown(job)` is told when an answer is ready. */
export class Queue {
  constructor(list, {asked, shown}) {
    Object.assign(this, {list, asked, shown, open: []});
  }

  row(name) {
    const words = element("span", {class: "words"}, text("debrief.sending"));
    const line = element("p", {class: "row"}, element("b", {}, name), " ", words);
    const node = element("li", {}, line);
    this.list.prepend(node);
    return {node, line, words, name};
  }

  /** Rows that the page came with: work that goes on, columns that somebody must tell, and what failed. */
  adopt(results, questions) {
    let i = 0;
    for (const node of [...this.list.children]) {
      const [line, words] = [node.querySelector(".row"), node.querySelector(".words")];
      if (node.dataset.job) this.work({node, line, words, name: node.dataset.name}, node.dataset.job);
      else if (node.dataset.failed) this.#dismissable({node, line, name: node.dataset.name, job: node.dataset.failed});
      else if (node.dataset.asks) {
        const row = this.row(node.dataset.name);
        node.replaceWith(row.node);
        this.#asks(row, questions[i].question, results[i].questions);
        i += 1;
      }
    }
  }

  async send(file) {
    const row = this.row(file.name);
    try {
      const sent = await heard(() => request(`/api/recordings?name=${encodeURIComponent(file.name)}`, {send: file}), () => this.#away(row));
      await this.check(row, {...this.asked(), ...sent});
    } catch (refusal) {
      this.#fail(row, refusal);
    }
  }

  /** Read a file that was sent. */
  async check(row, question) {
    const job = await heard(() => ask("log-check", question), () => this.#away(row));
    await this.work(row, job.id, question);
  }

  /** Ask for a piece of work and follow it in a row of its own. */
  async begin(name, kind, question) {
    const row = this.row(name);
    try {
      await this.work(row, (await heard(() => ask(kind, question), () => this.#away(row))).id);
    } catch (refusal) {
      this.#fail(row, refusal);
    }
  }

  async work(row, id, question = null) {
    const button = element("button", {type: "button", class: "second glove", onclick: () => { button.disabled = true; stop(id); }}, text("debrief.stop"));
    row.line.append(button);
    this.open.push(id);
    row.job = id;
    try {
      const done = await follow(id, {
        news: (job) => this.#say(row, job),
        lost: (isLost) => { if (isLost) row.words.textContent = text("debrief.lost_connection"); },
      });
      button.remove();
      this.#leave(id);
      await this.#done(row, done, question ?? done.question);
    } catch (refusal) {
      button.remove();
      this.#leave(id);
      this.#fail(row, refusal);
    }
  }

  #leave(id) {
    this.open = this.open.filter((one) => one !== id);
  }

  /** What the recording alone says, under its row, while the rest is worked out. */
  #tell(row, told) {
    if (!told) return;
    row.told?.remove();
    row.node.append(row.told = toldRun(told));
  }

  #say(row, job) {
    this.#tell(row, job.result?.told);
    if (job.is_over) return;
    const place = this.open.indexOf(job.id) + 1;
    const state = job.state === "waiting" ? text("debrief.place_in_queue", {n: place}) : text("debrief.working");
    row.words.textContent = [state, job.message].filter(Boolean).join(": ");
  }

  async #done(row, job, question) {
    const result = job.result;
    if (job.kind !== "log-check") {
      row.words.textContent = text("debrief.ready");
      this.shown(job, row);
    } else if (result.questions) this.#asks(row, question, result.questions);
    else {
      const found = result.runs?.filter(([, , time]) => time !== null).length;
      row.words.textContent = found === undefined ? text("debrief.no_course") : found ? text("debrief.runs_in_it", {n: found}) : text("debrief.no_run");
      if (result.next) await this.work(row, result.next);
    }
  }

  #asks(row, question, columns) {
    row.words.textContent = "";
    const form = questionForm(row.name, columns, async (said) => {
      form.remove();
      row.words.textContent = text("debrief.waiting");
      try {
        await this.check(row, {...question, columns: [...question.columns ?? [], ...said]});
      } catch (refusal) {
        this.#fail(row, refusal);
      }
    });
    row.node.append(form);
  }

  #away(row) {
    row.words.textContent = text("debrief.sends_again");
  }

  #fail(row, refusal) {
    if (!(refusal instanceof Refusal)) throw refusal;
    const found = (refusal.findings ?? []).map((one) => one.message);
    const why = [text("debrief.failed"), refusal.message, refusal.hint, ...found.length ? [text("debrief.found_before"), ...found] : []];
    const words = refusal.code === "job-stopped" ? text("debrief.stopped") : why.join(" ");
    row.words.replaceChildren(element("span", {class: "problem", role: "alert"}, words));
    this.#dismissable(row);
  }

  /** A row that failed goes when somebody has read it; its job, where it became one, goes with it. */
  #dismissable(row) {
    const dismiss = async () => {
      try {
        if (row.job) await putAway(row.job);
      } catch (refusal) {
        if (!(refusal instanceof Refusal) || refusal.status !== 404) throw refusal;
      }
      row.node.remove();
    };
    row.line.append(" ", element("button", {type: "button", class: "second glove", "aria-label": `${text("debrief.dismiss")}: ${row.name}`, onclick: dismiss}, text("debrief.dismiss")));
  }
}

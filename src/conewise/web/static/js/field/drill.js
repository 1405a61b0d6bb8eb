// The drill: the features in order and their sides by taps, in growing stretches; then the shape with a finger.
import {element} from "../dom.js";
import {number, text} from "../text.js";
import {DrawingPad} from "./drawing_pad.js";
import {scoreOrder, shuffled} from "./order.js";

export class Drill {
  // `known(stage)` is called when a stretch is known; `stage` is where to begin.
  constructor(root, course, {stage = 0, known = () => {}} = {}) {
    Object.assign(this, {root, course, known});
    this.begin(Math.min(stage, course.stages.length - 1));
  }

  get stretch() {
    return this.course.cards.slice(0, this.course.stages[this.stage]);
  }

  begin(stage) {
    Object.assign(this, {stage, laid: null, order: [], sides: {}, score: null, isDrawing: false});
    this.laid = shuffled(this.stretch);
    this.show();
  }

  take(card) {
    this.order.push(card);
    this.show();
  }

  putBack(card) {
    this.order = this.order.filter((one) => one !== card);
    delete this.sides[card.feature];
    this.show();
  }

  say(card, side) {
    this.sides[card.feature] = side;
    this.show();
  }

  check() {
    this.score = scoreOrder(this.stretch, this.order, this.sides);
    if (this.score.isKnown) this.known(this.stage);
    this.show();
    this.root.querySelector(".verdict").scrollIntoView({block: "nearest"});
  }

  get isComplete() {
    return this.order.length === this.stretch.length && this.order.every((card) => !card.side || this.sides[card.feature]);
  }

  show() {
    if (this.isDrawing) return;
    const open = this.laid.filter((card) => !this.order.includes(card));
    this.root.replaceChildren(
      element("p", {class: "kicker"}, text("drill.stretch", {n: this.stage + 1, of: this.course.stages.length, features: this.stretch.length})),
      element("h2", {}, this.score ? this.verdict() : text(open.length ? "drill.tap_next" : "drill.sides")),
      ...(this.score ? this.told() : []),
      ...(this.score ? [] : [
        element("div", {class: "cards"}, ...open.map((card) => button(card.looks, () => this.take(card), "card-laid"))),
        element("ol", {class: "plain answer-rows"}, ...this.order.map((card, i) => this.row(card, i))),
        this.order.length ? element("div", {class: "gloves"}, button(text("drill.check"), () => this.check(), this.isComplete ? "" : "second")) : null,
      ].filter(Boolean)),
      element("div", {class: "gloves drill-more"}, button(text("drill.draw"), () => this.draw(), "second"), ...this.stages()),
    );
  }

  stages() {
    return this.course.stages.map((_, stage) => stage).filter((stage) => stage !== this.stage)
      .map((stage) => button(text("drill.go", {n: stage + 1}), () => this.begin(stage), "second"));
  }

  row(card, place) {
    const sides = card.side
      ? ["left", "right"].map((side) => {
        const one = button(text(`drill.${side}`), () => this.say(card, side), "second side");
        one.setAttribute("aria-pressed", String(this.sides[card.feature] === side));
        return one;
      })
      : [];
    return element(
      "li",
      {},
      element("span", {class: "place"}, `${place + 1}. ${card.looks}${card.side ? `: ${text(card.question === "turns" ? "drill.turns" : "drill.first_cone")}` : ""}`),
      element("span", {class: "gloves"}, ...sides, button(text("drill.back"), () => this.putBack(card), "second")),
    );
  }

  verdict() {
    const {score} = this;
    if (score.isKnown) return text(this.stage + 1 < this.course.stages.length ? "drill.known" : "drill.all_known");
    return text("drill.not_yet", {right: score.nInOrder, of: score.nCards, sides: score.nSides - score.wrongSides.length, n_sides: score.nSides});
  }

  told() {
    const {score} = this;
    const named = (numbers) => numbers.map((n) => this.course.features.find((one) => one.number === n)).map((one) => `${one.number}, ${one.words}`);
    const lists = [["drill.missing", score.missing], ["drill.wrong_sides", score.wrongSides]];
    const isLast = this.stage + 1 >= this.course.stages.length;
    return [
      element("div", {class: "verdict"}, ...lists.filter(([, numbers]) => numbers.length).flatMap(([key, numbers]) => [
        element("h3", {}, text(key)),
        element("ul", {class: "plain"}, ...named(numbers).map((words) => element("li", {}, words))),
      ])),
      element("div", {class: "gloves"},
        ...(score.isKnown && !isLast ? [button(text("drill.further"), () => this.begin(this.stage + 1))] : []),
        button(text("drill.once_more"), () => this.begin(this.stage), "second")),
    ];
  }

  draw() {
    this.isDrawing = true;
    new DrawingPad(this.root, this.course, {leave: () => {
      this.isDrawing = false;
      this.show();
    }, scored: (score) => score.verdict === "good" && this.known(-1)});
  }
}

export function button(words, onclick, kind = "") {
  return element("button", {type: "button", class: `glove ${kind}`, onclick}, words);
}

/** How a drawing did, in words. */
export function shapeWords(score, course) {
  if (score.problem) return text(`drill.problem.${score.problem}`);
  const feature = course.features.find((one) => one.number === score.worstNumber);
  const where = text("drill.farthest", {number: score.worstNumber, words: feature.words, metres: number(score.worstDistance, 0)});
  return `${text(`drill.shape.${score.verdict}`)} ${score.verdict === "mirrored" ? "" : where}`.trim();
}

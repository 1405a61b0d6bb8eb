// What columns measure, where it is not sure: the guesses as buttons of a choice, or in words.
import {element} from "../dom.js";
import {number, text} from "../text.js";

const SHOWN = 4; // guesses

/** A form about columns; `answered(["column=quantity:unit", ...])` is told what somebody chose. */
export function questionForm(name, columns, answered) {
  const groups = columns.map((column, i) => group(column, i));
  const form = element("form", {}, element("p", {class: "kicker"}, text("debrief.ask_lead", {name})), ...groups, element("p", {}, element("button", {class: "glove"}, text("debrief.ask_go"))));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const facts = new FormData(form);
    answered(columns.map((column, i) => `${column.column}=${facts.get(`guess-${i}`) || facts.get(`words-${i}`)}`));
  });
  return form;
}

function group(column, i) {
  const values = column.values.map((value) => number(value, Math.abs(value) < 100 ? 3 : 1)).join(", ");
  const own = element("input", {name: `words-${i}`, maxlength: 60, placeholder: text("debrief.typed"), "aria-label": `${text("debrief.ask_other")}: ${column.column}`, hidden: true});
  const option = (value, words, isChosen) => element("label", {class: "option glove"}, element("input", {type: "radio", name: `guess-${i}`, value, checked: isChosen}), element("span", {}, words));
  const guesses = column.guesses.slice(0, SHOWN).map((guess, k) => option(guess, `${guess.replace(":", ", ")} (${text("debrief.sure", {percent: number(100 * column.probabilities[k])})})`, k === 0));
  const other = option("", text("debrief.ask_other"), false);
  const made = element("fieldset", {}, element("legend", {}, column.column), element("p", {class: "note"}, text("debrief.ask_values", {values})), ...guesses, option("ignore", text("debrief.ask_ignore"), false), other, own);
  made.addEventListener("change", () => {
    own.hidden = !other.querySelector("input").checked;
    own.required = !own.hidden;
  });
  return made;
}

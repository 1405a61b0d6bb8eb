// Numbers that somebody types: what is none is refused beside its field, and what was typed stays there.
import {clearRefusal, refuse, Refusal} from "./request.js";
import {text} from "./text.js";

/** The number in a field, with either decimal sign; null where it is empty. `above` is the limit that it must pass. */
export function numberIn(field, {isWhole = false, isNeeded = false, above = -Infinity} = {}) {
  const words = field.value.trim();
  const plain = words.replace("−", "-").replace(",", ".");
  const no = (key) => { throw new Refusal({code: "typed", message: text(`typed.${key}`, {words, above}), where: field.name, hint: text(`typed.hint_${isWhole ? "whole" : "number"}`), field}, 0); };
  if (!words && !isNeeded) return null;
  if (!words) no("empty");
  if (!/^[+-]?\d*\.?\d+$/.test(plain)) no("number");
  if (isWhole && !Number.isInteger(Number(plain))) no("whole");
  if (Number(plain) <= above) no("above");
  return Number(plain);
}

/** Give the number in a field to `take`; where it holds none the field says so, and nothing is taken. */
export function takeNumber(field, take, wants = {}) {
  clearRefusal(field);
  try {
    take(numberIn(field, wants));
  } catch (refusal) {
    if (!(refusal instanceof Refusal)) throw refusal;
    refuse(field, refusal);
  }
}

// Requests to the server, and what it says when it cannot.
import {element} from "./dom.js";

/** What the server answered when it could not: code, message, where, hint. Code "unreachable": it did not answer. */
export class Refusal extends Error {
  constructor(told, status) {
    super(told.message);
    Object.assign(this, told, {status});
  }
}

/** What stands behind an address. `send` is an object (as JSON), FormData or a file; it makes the request a POST. */
export async function request(address, {send, method, signal} = {}) {
  const options = {method: method ?? (send === undefined ? "GET" : "POST"), headers: {Accept: "application/json"}, signal};
  if (send instanceof FormData || send instanceof Blob) options.body = send;
  else if (send !== undefined || options.method !== "GET") {
    options.body = JSON.stringify(send ?? {});
    options.headers["Content-Type"] = "application/json";
  }
  let answer;
  try {
    answer = await fetch(address, options);
  } catch (failure) {
    if (failure.name === "AbortError") throw failure;
    const {lost = "", lostHint = ""} = document.body.dataset;
    throw new Refusal({code: "unreachable", message: lost, where: "", hint: lostHint}, 0);
  }
  const told = answer.status === 204 ? null : await answer.json();
  if (!answer.ok) throw new Refusal(told, answer.status);
  return told;
}

/** Show a refusal beside the field that it names, else in the form's own place for problems; the field is focused. */
export function showRefusal(form, refusal) {
  clearRefusals(form);
  const named = (one) => one.name && (refusal.where === one.name || refusal.where.endsWith(`.${one.name}`));
  const field = refusal.field ?? [...form.elements].find(named);
  if (field) refuse(field, refusal);
  else form.append(said(refusal));
}

let told = 0; // refusals so far: each has an id of its own

/** Say a refusal at a field: below its label, or below all that can be ticked where it is one of several. */
export function refuse(field, refusal) {
  const group = ["checkbox", "radio"].includes(field.type) && field.closest("fieldset");
  const words = said(refusal);
  words.id = `problem-${told += 1}`;
  field.setAttribute("aria-invalid", "true");
  field.setAttribute("aria-describedby", words.id);
  if (group) group.append(words);
  else (field.closest("label") ?? field).after(words);
  field.focus();
}

function said(refusal) {
  return element("p", {class: "problem", role: "alert", "data-refusal": true}, `${refusal.message} ${refusal.hint}`);
}

export function clearRefusals(form) {
  for (const words of form.querySelectorAll("[data-refusal]")) words.remove();
  for (const field of form.querySelectorAll("[aria-invalid]")) field.removeAttribute("aria-invalid");
}

/** What was said at one field. */
export function clearRefusal(field) {
  if (!field.hasAttribute("aria-invalid")) return;
  document.getElementById(field.getAttribute("aria-describedby"))?.remove();
  field.removeAttribute("aria-invalid");
}

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

/** Show a refusal beside the field that it names, else in the form's own place for problems; the first is focused. */
export function showRefusal(form, refusal) {
  clearRefusals(form);
  const field = [...form.elements].find((one) => one.name && (refusal.where === one.name || refusal.where.endsWith(`.${one.name}`)));
  const words = element("p", {class: "problem", role: "alert", id: "problem"}, `${refusal.message} ${refusal.hint}`);
  if (field) {
    field.setAttribute("aria-invalid", "true");
    field.setAttribute("aria-describedby", "problem");
    (field.closest("label") ?? field).after(words);
    field.focus();
  } else form.append(words);
}

export function clearRefusals(form) {
  for (const words of form.querySelectorAll(".problem")) words.remove();
  for (const field of form.querySelectorAll("[aria-invalid]")) field.removeAttribute("aria-invalid");
}

// Strings of the catalogue that the page brought along (its template names them), and numbers as the reader wants them.
let catalogue = null;

/** The string of a key with its facts; one that differs for one and for many is chosen by the fact n. */
export function text(key, facts = {}) {
  catalogue ??= JSON.parse(document.getElementById("texts")?.textContent ?? "{}");
  const found = catalogue[key] ?? catalogue[`${key}.${facts.n === 1 ? "one" : "many"}`];
  if (found === undefined) throw new Error(`The page has no string '${key}'.`);
  return found.replace(/\{(\w+)\}/g, (whole, name) => (name in facts ? String(facts[name]) : whole));
}

/** A number with its decimals, as the server writes it; a rounded zero has no sign. */
export function number(value, digits = 0) {
  if (value === null || value === undefined || Number.isNaN(value)) return "–";
  const sign = document.documentElement.dataset.decimal === "comma" ? "," : ".";
  const written = value.toFixed(digits);
  return (Number(written) === 0 ? written.replace("-", "") : written.replace("-", "−")).replace(".", sign);
}

/** A difference with its sign; a rounded zero has none. */
export function signed(value, digits = 2) {
  const written = number(value, digits);
  return Number(value?.toFixed(digits)) > 0 ? `+${written}` : written;
}

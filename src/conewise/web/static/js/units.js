// Lengths as the reader wants them: metres or feet. The server takes metres.

const FOOT = 0.3048; // [m], exact: international yard and pound agreement of 1959

export function lengthUnit() {
  return document.documentElement.dataset.units === "us" ? {unit: "ft", factor: 1 / FOOT} : {unit: "m", factor: 1};
}

/** A finding's sentence in the units that are shown. */
export function said(finding) {
  return (document.documentElement.dataset.units === "us" && finding.message_us) || finding.message;
}

export function speedUnit() {
  return document.documentElement.dataset.units === "us" ? {unit: "mph", factor: 3600 / 1609.344, digits: 1} : {unit: "km/h", factor: 3.6, digits: 1};
}

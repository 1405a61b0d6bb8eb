// Elements without markup in strings: text is always text.

/** A new element: element("li", {class: "stop", onclick: go}, "text", otherElement). */
export function element(name, attributes = {}, ...children) {
  return furnished(document.createElement(name), attributes, children);
}

/** A new element of a drawing. */
export function drawn(name, attributes = {}, ...children) {
  return furnished(document.createElementNS("http://www.w3.org/2000/svg", name), attributes, children);
}

function furnished(made, attributes, children) {
  for (const [key, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else if (key === "style") for (const [property, set] of Object.entries(value)) made.style.setProperty(property, set);
    else made.setAttribute(key, value === true ? "" : value);
  }
  made.append(...children.filter((child) => child !== null && child !== undefined));
  return made;
}

/** Facts that the page brought along: {{ data("name", value) }} in its template. */
export function data(name) {
  const block = document.getElementById(`data-${name}`);
  return block ? JSON.parse(block.textContent) : null;
}

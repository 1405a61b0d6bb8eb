// Room for the longest words that may come, so that none are cut and nothing below moves when they do.

/** How tall a node would be with the tallest of some words; `into(twin)` is the part of its twin that has them. [px] */
export function tallest(node, all, into = (twin) => twin) {
  const twin = node.cloneNode(true);
  twin.hidden = false;
  twin.setAttribute("aria-hidden", "true");
  for (const [name, value] of Object.entries({position: "absolute", visibility: "hidden"})) twin.style.setProperty(name, value);
  twin.style.removeProperty("min-height");
  if (getComputedStyle(node).position !== "absolute") twin.style.setProperty("width", `${node.clientWidth}px`);
  for (const attribute of ["data-part", "role"]) twin.removeAttribute(attribute);
  node.after(twin);
  const heights = all.map((words) => {
    into(twin).textContent = words;
    return twin.offsetHeight;
  });
  twin.remove();
  return Math.max(0, ...heights);
}

// Colours, sizes and lines of the page's look, for drawing on a canvas.

const NAMES = ["paper", "wash", "ink", "quiet", "rule", "signal", "faster", "slower", "focus"];
const SIZES = ["small", "line", "hair"];
const listeners = new Set();
let known = null;

function read() {
  const style = getComputedStyle(document.documentElement);
  const found = {};
  for (const name of NAMES) found[name] = style.getPropertyValue(`--${name}`).trim() || "CanvasText";
  for (const name of SIZES) found[name] = parseFloat(style.getPropertyValue(`--${name}`)) || 1;
  if (found.small < 8) found.small = 14;
  found.font = `${found.small}px ${getComputedStyle(document.body).fontFamily}`;
  return found;
}

/** The colours and sizes as the page wears them now. */
export function ink() {
  known ??= read();
  return known;
}

/** Call `redraw` whenever the page changes its look; gives back what ends that. */
export function onLook(redraw) {
  listeners.add(redraw);
  return () => listeners.delete(redraw);
}

function changed() {
  known = null;
  for (const redraw of listeners) redraw();
}

new MutationObserver(changed).observe(document.documentElement, {attributes: true, attributeFilter: ["data-look", "class"]});
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", changed);

// Mouse wheel, one finger and two fingers on a drawing, told apart and put into numbers.

const STILL = 4; // a press that moves less than this is a tap [px]

function placeIn(element, event) {
  const box = element.getBoundingClientRect();
  return {x: event.clientX - box.left, y: event.clientY - box.top};
}

/**
 * Listen to a drawing.
 *
 * `told` may hold: `hover(place)`, `leave()`, `press(place, event)` (true: the drag that follows is the caller's),
 * `drag(by, place, event)`, `drop(place, event)`, `tap(place, event)`, `pan(by)`, `pinch(factor, place, by)`.
 * Places are pixels from the drawing's corner. The wheel zooms where the drawing has the focus, or with Ctrl or Cmd:
 * otherwise the page scrolls.
 */
export function listen(element, told) {
  const fingers = new Map();
  let taken = false;
  let moved = 0;
  let pair = null;

  function ended(event) {
    if (!fingers.delete(event.pointerId)) return;
    pair = fingers.size === 2 ? spread() : null;
    if (fingers.size) return;
    const place = placeIn(element, event);
    if (event.type === "pointerup" && moved <= STILL) told.tap?.(place, event);
    if (taken) told.drop?.(place, event);
    taken = false;
  }

  function spread() {
    const [a, b] = [...fingers.values()];
    return {x: (a.x + b.x) / 2, y: (a.y + b.y) / 2, apart: Math.max(Math.hypot(a.x - b.x, a.y - b.y), 1)};
  }

  element.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    const place = placeIn(element, event);
    fingers.set(event.pointerId, place);
    element.setPointerCapture?.(event.pointerId);
    if (fingers.size === 1) {
      moved = 0;
      taken = told.press?.(place, event) === true;
    } else if (fingers.size === 2) {
      if (taken) told.drop?.(place, event);
      taken = false;
      moved = Infinity;
      pair = spread();
    }
  });

  element.addEventListener("pointermove", (event) => {
    const place = placeIn(element, event);
    const before = fingers.get(event.pointerId);
    if (!before) {
      told.hover?.(place, event);
      return;
    }
    fingers.set(event.pointerId, place);
    const by = {x: place.x - before.x, y: place.y - before.y};
    if (fingers.size === 2) {
      const now = spread();
      told.pinch?.(now.apart / pair.apart, now, {x: now.x - pair.x, y: now.y - pair.y});
      pair = now;
      return;
    }
    if (fingers.size > 2) return;
    moved += Math.hypot(by.x, by.y);
    if (taken) told.drag?.(by, place, event);
    else if (event.pointerType === "mouse") told.pan?.(by, place);
    else {
      told.hover?.(place, event);
      told.slide?.(by, place);
    }
  });
  for (const type of ["pointerup", "pointercancel"]) element.addEventListener(type, ended);
  element.addEventListener("pointerleave", () => fingers.size || told.leave?.());

  element.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && !event.metaKey && !element.contains(document.activeElement)) return;
    event.preventDefault();
    const lines = event.deltaMode === 1 ? 16 : 1;
    const step = Math.min(Math.max(event.deltaY * lines, -240), 240);
    told.pinch?.(Math.exp(-step * (event.ctrlKey ? 0.01 : 0.002)), placeIn(element, event), {x: -event.deltaX * lines, y: 0});
  }, {passive: false});
}

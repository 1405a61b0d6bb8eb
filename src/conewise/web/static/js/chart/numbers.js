// Round numbers for axes, and numbers as people read them.

/** Two to `most` + 1 round numbers that enclose a range. */
export function niceTicks(low, high, most = 4) {
  const span = Math.max(high - low, 1e-9);
  const size = 10 ** Math.floor(Math.log10(span / most));
  for (const factor of [1, 2, 5, 10, 20]) {
    const step = factor * size;
    const first = Math.floor(low / step + 1e-9);
    const last = Math.ceil(high / step - 1e-9);
    if (last - first > most) continue;
    const ticks = [];
    for (let n = first; n <= Math.max(last, first + 1); n += 1) ticks.push(Number((n * step).toPrecision(12)));
    return ticks;
  }
  return [low, high];
}

/** Round numbers inside a range, at most one every `gap` of its length. */
export function ticksInside(low, high, most) {
  const step = niceStep((high - low) / Math.max(most, 1));
  const ticks = [];
  for (let n = Math.ceil(low / step - 1e-9); n * step <= high + 1e-9 * step; n += 1) ticks.push(Number((n * step).toPrecision(12)));
  return ticks;
}

function niceStep(least) {
  const size = 10 ** Math.floor(Math.log10(Math.max(least, 1e-9)));
  return size * [1, 2, 5, 10].find((factor) => factor * size >= least * (1 - 1e-9));
}

/** Digits after the point that the numbers of an axis need, all alike. */
export function digitsOf(ticks) {
  for (let digits = 0; digits < 4; digits += 1) {
    if (ticks.every((tick) => Math.abs(tick - Number(tick.toFixed(digits))) < 1e-9)) return digits;
  }
  return 4;
}

/** A number with a true minus sign and the decimal sign of the page; a rounded zero has no sign. */
export function shown(value, digits) {
  if (!Number.isFinite(value)) return "–";
  const text = Math.abs(value).toFixed(digits);
  const written = document.documentElement.dataset.decimal === "comma" ? text.replace(".", ",") : text;
  return value < 0 && Number(text) !== 0 ? `−${written}` : written;
}

/** Lowest and highest finite value of several lists; null where there is none. */
export function rangeOf(lists) {
  let low = Infinity;
  let high = -Infinity;
  for (const list of lists) {
    for (const value of list) {
      if (!Number.isFinite(value)) continue;
      if (value < low) low = value;
      if (value > high) high = value;
    }
  }
  return low <= high ? [low, high] : null;
}

/** Index of the value nearest to `x` in a rising list. */
export function nearestIndex(list, x) {
  let low = 0;
  let high = list.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (list[middle] <= x) low = middle;
    else high = middle;
  }
  return x - list[low] <= list[high] - x ? low : high;
}

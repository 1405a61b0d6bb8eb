// Many points on few pixels: of every pixel column the first, lowest, highest and last, so that no peak is lost.

/** Index of the first value of a rising list that is not below `x`. */
export function lowerBound(list, x) {
  let low = 0;
  let high = list.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (list[middle] < x) low = middle + 1;
    else high = middle;
  }
  return low;
}

/**
 * Indices to draw of the points between `from` and `to`, with one point beyond either end.
 *
 * `x` rises; `columns` is the width in pixels. Places where `y` is no number stay, so that a line breaks there.
 */
export function decimated(x, y, {from, to, columns}) {
  const first = Math.max(lowerBound(x, from) - 1, 0);
  const last = Math.min(lowerBound(x, to) + 1, x.length);
  const indices = [];
  if (last - first <= 4 * columns || to <= from) {
    for (let i = first; i < last; i += 1) indices.push(i);
    return indices;
  }
  const scale = columns / (to - from);
  let i = first;
  while (i < last) {
    const column = Math.floor((x[i] - from) * scale);
    const start = i;
    let low = i;
    let high = i;
    let gap = -1;
    for (; i < last && Math.floor((x[i] - from) * scale) === column; i += 1) {
      if (!Number.isFinite(y[i])) gap = i;
      else {
        if (!(y[i] >= y[low])) low = i;
        if (!(y[i] <= y[high])) high = i;
      }
    }
    for (const index of [...new Set([start, low, high, gap, i - 1])].filter((n) => n >= 0).sort((a, b) => a - b)) indices.push(index);
  }
  return indices;
}

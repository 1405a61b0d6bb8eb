// A course from memory: cards in order, and sides. The rules of conewise/course/drill.py; a test holds both to each other.

function longest(a, b, within) {
  const [aLow, aHigh, bLow, bHigh] = within;
  let best = {a: aLow, b: bLow, size: 0};
  let lengths = new Map();
  for (let i = aLow; i < aHigh; i++) {
    const fresh = new Map();
    for (let j = bLow; j < bHigh; j++) {
      if (a[i] !== b[j]) continue;
      const size = (lengths.get(j - 1) ?? 0) + 1;
      fresh.set(j, size);
      if (size > best.size) best = {a: i - size + 1, b: j - size + 1, size};
    }
    lengths = fresh;
  }
  return best;
}

// Longest matching blocks of two rows, left and right of the longest again (Ratcliff and Metzener, 1988; from memory).
export function matchingBlocks(a, b) {
  const open = [[0, a.length, 0, b.length]];
  const found = [];
  while (open.length) {
    const within = open.pop();
    const block = longest(a, b, within);
    if (!block.size) continue;
    found.push(block);
    open.push([within[0], block.a, within[2], block.b], [block.a + block.size, within[1], block.b + block.size, within[3]]);
  }
  return found.sort((one, other) => one.a - other.a);
}

// An answer against a stretch of cards in driving order; `sides` by feature.
export function scoreOrder(stretch, order, sides) {
  const kept = new Set();
  for (const block of matchingBlocks(stretch.map((card) => card.looks), order.map((card) => card.looks))) {
    for (let i = 0; i < block.size; i++) kept.add(block.a + i);
  }
  const asked = stretch.filter((card) => card.side);
  const missing = stretch.filter((_, i) => !kept.has(i)).map((card) => card.number);
  const wrongSides = asked.filter((card) => sides[card.feature] !== card.side).map((card) => card.number);
  return {
    nCards: stretch.length,
    nInOrder: kept.size,
    missing,
    nSides: asked.length,
    wrongSides,
    isKnown: missing.length === 0 && wrongSides.length === 0,
  };
}

// Cards as they are laid out; in driving order only where there is no other.
export function shuffled(stretch, random = Math.random) {
  const laid = [...stretch];
  for (let tries = 0; tries < 20; tries++) {
    for (let i = laid.length - 1; i > 0; i--) {
      const k = Math.floor(random() * (i + 1));
      [laid[i], laid[k]] = [laid[k], laid[i]];
    }
    if (laid.some((card, i) => card.looks !== stretch[i].looks)) break;
  }
  return laid;
}

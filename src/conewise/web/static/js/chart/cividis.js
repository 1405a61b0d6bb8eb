// Colours for magnitudes, readable by everyone and in grey.

// Seventeen even steps of the map "cividis": Nuñez, Anderton and Renslow, Optimizing colormaps with consideration for
// color vision deficiency to enable accurate interpretation of scientific data, PLOS ONE 13(7) e0199239, 2018, S1 data.
const STEPS = [
  [0x00, 0x22, 0x4e], [0x00, 0x2e, 0x6a], [0x1a, 0x38, 0x6f], [0x32, 0x43, 0x6d], [0x43, 0x4e, 0x6c], [0x53, 0x5a, 0x6d],
  [0x61, 0x65, 0x6f], [0x6f, 0x70, 0x73], [0x7d, 0x7c, 0x78], [0x8c, 0x88, 0x78], [0x9b, 0x94, 0x76], [0xab, 0xa0, 0x72],
  [0xbc, 0xae, 0x6c], [0xcd, 0xbb, 0x63], [0xde, 0xc9, 0x58], [0xf0, 0xd8, 0x46], [0xfe, 0xe8, 0x38],
];

/** Colour of a share of the range: 0 dark blue, 1 yellow; clipped. */
export function cividis(share) {
  const place = Math.min(Math.max(share, 0), 1) * (STEPS.length - 1);
  const lower = Math.min(Math.floor(place), STEPS.length - 2);
  const rest = place - lower;
  const mixed = STEPS[lower].map((low, i) => Math.round(low + rest * (STEPS[lower + 1][i] - low)));
  return `#${mixed.map((channel) => channel.toString(16).padStart(2, "0")).join("")}`;
}

/** Number of the colour step of a share, from 0 to `steps` - 1. */
export function stepOf(share, steps) {
  return Math.min(Math.max(Math.floor(share * steps), 0), steps - 1);
}

// A drawn course against the course: turned, scaled, shifted to fit, then compared along the way. The rules of
// conewise/course/shape.py; a test holds both to each other. Points are [x, y], y upwards.

const ROUNDS = 12;
const SLACK = 0.12;
const MIRRORED = 0.7;
const GOOD = 0.06;
const FAIR = 0.12;

const length = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);
const mean = (points) => {
  const sum = points.reduce((s, p) => [s[0] + p[0], s[1] + p[1]], [0, 0]);
  return [sum[0] / points.length, sum[1] / points.length];
};

export function resampled(line, n) {
  const along = [0];
  const kept = [line[0]];
  for (let i = 1; i < line.length; i++) {
    const step = length(line[i], line[i - 1]);
    if (step > 0) {
      along.push(along.at(-1) + step);
      kept.push(line[i]);
    }
  }
  const points = [];
  let k = 0;
  for (let i = 0; i < n; i++) {
    const at = (along.at(-1) * i) / (n - 1);
    while (k < along.length - 2 && along[k + 1] < at) k++;
    const share = Math.min(Math.max((at - along[k]) / (along[k + 1] - along[k]), 0), 1);
    points.push([0, 1].map((d) => kept[k][d] + share * (kept[k + 1][d] - kept[k][d])));
  }
  return points;
}

// The similarity z -> a z + b (a, b complex; of the mirrored points where `mirror`) that takes source to target.
function similarity(source, target, mirror) {
  const from = mean(source);
  const to = mean(target);
  let [re, im, square] = [0, 0, 0];
  source.forEach((point, i) => {
    const x = point[0] - from[0];
    const y = (point[1] - from[1]) * (mirror ? -1 : 1);
    const u = target[i][0] - to[0];
    const v = target[i][1] - to[1];
    re += x * u + y * v;
    im += x * v - y * u;
    square += x * x + y * y;
  });
  const [a, b] = [re / square, im / square];
  return (point) => {
    const x = point[0] - from[0];
    const y = (point[1] - from[1]) * (mirror ? -1 : 1);
    return [a * x - b * y + to[0], b * x + a * y + to[1]];
  };
}

function paired(drawn, wanted) {
  const n = wanted.length;
  const band = Math.round(SLACK * n);
  const total = Array.from({length: n}, () => new Float64Array(n).fill(Infinity));
  const square = (i, j) => (wanted[i][0] - drawn[j][0]) ** 2 + (wanted[i][1] - drawn[j][1]) ** 2;
  for (let i = 0; i < n; i++) {
    for (let j = Math.max(0, i - band); j < Math.min(n, i + band + 1); j++) {
      const before = i === 0 ? (j === 0 ? 0 : Infinity) : Math.min(total[i - 1][j], j ? total[i - 1][j - 1] : Infinity);
      const sideways = j ? total[i][j - 1] : Infinity;
      total[i][j] = square(i, j) + Math.min(before, sideways);
    }
  }
  const pairs = new Array(n).fill(0);
  let [i, j] = [n - 1, n - 1];
  pairs[i] = j;
  while (i > 0 || j > 0) {
    const options = [];
    if (i && j) options.push([total[i - 1][j - 1], i - 1, j - 1]);
    if (i) options.push([total[i - 1][j], i - 1, j]);
    if (j) options.push([total[i][j - 1], i, j - 1]);
    options.sort((a, b) => a[0] - b[0] || a[1] - b[1] || a[2] - b[2]);
    [, i, j] = options[0];
    pairs[i] = j;
  }
  return pairs;
}

function fitted(drawn, wanted, mirror) {
  let pairs = wanted.map((_, i) => i);
  const laid = () => drawn.map(similarity(pairs.map((j) => drawn[j]), wanted, mirror));
  for (let round = 0; round < ROUNDS; round++) {
    const again = paired(laid(), wanted);
    if (again.every((j, i) => j === pairs[i])) break;
    pairs = again;
  }
  return laid();
}

function distances(drawn, wanted) {
  return paired(drawn, wanted).map((j, i) => length(drawn[j], wanted[i]));
}

const rms = (values) => Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / values.length);

// `course`: {line: [[x, y], ...] at equal distances, length, spans: [{feature, number, start, end}, ...]}.
// {problem} where the drawing is no line, else {verdict, distance, isMirrored, worstFeature, worstDistance, fitted}.
export function scoreShape(course, drawing) {
  if (drawing.length < 3) return {problem: "few"};
  const way = drawing.slice(1).reduce((sum, point, i) => sum + length(point, drawing[i]), 0);
  if (!(way > 1e-9 * Math.max(1, ...drawing.flat().map(Math.abs)))) return {problem: "spot"};
  const wanted = course.line;
  const n = wanted.length;
  const middle = mean(wanted);
  const size = rms(wanted.map((point) => length(point, middle)));
  const line = resampled(drawing, n);
  const plain = fitted(line, wanted, false);
  const away = distances(plain, wanted);
  const distance = rms(away);
  const other = rms(distances(fitted(line, wanted, true), wanted));
  let worst = null;
  for (const span of course.spans) {
    const own = away.filter((_, i) => {
      const station = (course.length * i) / (n - 1);
      return station >= span.start && station <= span.end;
    });
    const average = own.length ? own.reduce((sum, value) => sum + value, 0) / own.length : -1;
    if (own.length && (!worst || average > worst.average)) worst = {average, span};
  }
  const share = distance / size;
  const isMirrored = other < MIRRORED * distance && share > GOOD;
  return {
    verdict: isMirrored ? "mirrored" : share <= GOOD ? "good" : share <= FAIR ? "fair" : "off",
    distance: share,
    isMirrored,
    worstFeature: worst.span.feature,
    worstNumber: worst.span.number,
    worstDistance: worst.average,
    fitted: plain,
  };
}

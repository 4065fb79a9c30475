// Puts lots in order by whole numbers: scores, ranks, groups of about equal rank, first visits.

const ABOUT_EQUAL = 200; // scores this near to the first of their group are about equal
const DIGIT = 14; // bits that one pass of sorting looks at

/** Rows sorted by whole numbers from 0, the smallest first; equal ones stay in their order. */
function sortedBy(rows, keys) {
  let most = 0;
  for (let at = 0; at < rows.length; at++) if (keys[rows[at]] > most) most = keys[rows[at]];
  let [from, to] = [Int32Array.from(rows), new Int32Array(rows.length)];
  const mask = (1 << DIGIT) - 1;
  for (let shift = 0; shift === 0 || (shift < 31 && most >> shift > 0); shift += DIGIT) {
    const places = new Int32Array((1 << DIGIT) + 1);
    for (let at = 0; at < from.length; at++) places[((keys[from[at]] >> shift) & mask) + 1] += 1;
    for (let digit = 0; digit < 1 << DIGIT; digit++) places[digit + 1] += places[digit];
    for (let at = 0; at < from.length; at++) to[places[(keys[from[at]] >> shift) & mask]++] = from[at];
    [from, to] = [to, from];
  }
  return from;
}

/** Scores of the lots by weights, -1 where ruled out. */
function scoresOf(lots, byRule) {
  const used = data.criteria.map((criterion) => byRule[criterion.rule]);
  const total = used.reduce((sum, one) => sum + one, 0);
  const sums = new Int32Array(lotCount);
  lots.values.forEach((values, at) => {
    for (let lot = 0; lot < lotCount; lot++) if (values[lot] > 0) sums[lot] += values[lot] * used[at];
  });
  for (let lot = 0; lot < lotCount; lot++) sums[lot] = lots.weight[lot] === RULES_OUT ? -1 : total ? Math.floor(sums[lot] / total) : 0;
  return sums;
}

/** The lots that are scored and still on the list, in the order of rank: best score, then most kept, then as in the table. */
function inOrder(lots, score) {
  const {off} = runLots();
  const [rows, less] = [new Int32Array(lotCount), new Int32Array(lotCount)];
  let [count, most] = [0, 0];
  for (let lot = 0; lot < lotCount; lot++) {
    if (score[lot] < 0 || (off && off[lot] === 1)) continue;
    rows[count++] = lot;
    if (lots.kept[lot] > most) most = lots.kept[lot];
  }
  const listed = rows.subarray(0, count);
  for (const lot of listed) less[lot] = most - Math.max(lots.kept[lot], 0);
  const byKept = sortedBy(listed, less);
  for (const lot of listed) less[lot] = 10000 - score[lot];
  return sortedBy(byKept, less);
}

/** Scores, ranks and groups of about equal rank, for every lot that is not ruled out and still on the list. */
function rankWith(lots, byRule) {
  const score = scoresOf(lots, byRule);
  const order = inOrder(lots, score);
  const [rank, start, end] = [new Int32Array(lotCount), new Int32Array(order.length), new Int32Array(order.length)];
  for (let first = 0; first < order.length; ) {
    let last = first;
    while (last + 1 < order.length && score[order[first]] - score[order[last + 1]] <= ABOUT_EQUAL) last += 1;
    for (let at = first; at <= last; at++) {
      rank[order[at]] = at + 1;
      start[at] = first + 1;
      end[at] = last + 1;
    }
    first = last + 1;
  }
  return {score, order, rank, start, end};
}

/** Where classes begin: fifths of the scored lots, each moved to the nearest five points of a hundred, as in the run. */
function fifths(scores) {
  const many = new Int32Array(10001);
  let known = 0;
  for (let lot = 0; lot < scores.length; lot++) {
    if (scores[lot] < 0) continue;
    many[scores[lot]] += 1;
    known += 1;
  }
  if (!known) return data.breaks;
  const step = 500;
  const scoreAt = (place) => {
    let score = 0;
    for (let before = many[0]; before <= place; before += many[score]) score += 1;
    return score;
  };
  const out = [1, 2, 3, 4].map((part) => Math.floor((scoreAt(Math.min(Math.floor((known * part) / 5), known - 1)) + step / 2) / step));
  const rise = () => {
    for (let at = 1; at < 4; at++) out[at] = Math.max(out[at], out[at - 1] + 1);
  };
  rise();
  for (let at = 3; at >= 0; at--) out[at] = Math.min(out[at], 10000 / step - 1 - (3 - at));
  out[0] = Math.max(out[0], 1);
  rise();
  return out.map((edge) => edge * step);
}

/** The lots in the order of the run's ranks. */
function runOrder() {
  if (!runOrder.found) {
    const ranks = tables.lots.columns.rank.held.of;
    const ranked = [];
    for (let lot = 0; lot < lotCount; lot++) if (ranks[lot] !== MISSING) ranked.push(lot);
    runOrder.found = sortedBy(ranked, ranks);
  }
  return runOrder.found;
}

/** Number of each lot's street, 0 where it is not known, and the names of the streets from 1. */
function streetsOfLots() {
  if (!streetsOfLots.found) {
    const {of, words} = tables.lots.columns.street.held;
    streetsOfLots.found = {of: words.includes("") ? of.map((at) => (at && words[at - 1] === "" ? 0 : at)) : of, words};
  }
  return streetsOfLots.found;
}

/** The first visits: by rank, passing over lots of a street that has as many as it may. */
function firstVisits(order) {
  const ofStreet = ruleNow("visits_of_street_most");
  const {of, words} = streetsOfLots();
  const [out, had] = [new Uint8Array(lotCount), new Int32Array(words.length + 1)];
  let left = ruleNow("visits");
  for (let at = 0; at < order.length && left; at++) {
    const street = of[order[at]];
    if (ofStreet && had[street] >= ofStreet) continue;
    had[street] += 1;
    out[order[at]] = 1;
    left -= 1;
  }
  return out;
}

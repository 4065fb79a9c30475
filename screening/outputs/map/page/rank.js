// Puts lots in order by whole numbers: scores, ranks, groups of about equal rank, first visits.

const ABOUT_EQUAL = 200; // scores this near to the first of their group are about equal
const DIGIT = 14; // bits that one pass of sorting looks at

/** Rows sorted by whole numbers from 0, the smallest first; equal ones stay in their order. They go to and fro between two
 *  `rooms`, new ones unless told, and lie in one of these at last. */
function sortedBy(rows, keys, rooms = [new Int32Array(rows.length), new Int32Array(rows.length)]) {
  const n = rows.length;
  let most = 0;
  for (let at = 0; at < n; at++) if (keys[rows[at]] > most) most = keys[rows[at]];
  let [from, to] = rooms;
  for (let at = 0; at < n; at++) from[at] = rows[at];
  const mask = (1 << DIGIT) - 1;
  for (let shift = 0; shift === 0 || (shift < 31 && most >> shift > 0); shift += DIGIT) {
    const places = new Int32Array((1 << DIGIT) + 1);
    for (let at = 0; at < n; at++) places[((keys[from[at]] >> shift) & mask) + 1] += 1;
    for (let digit = 0; digit < 1 << DIGIT; digit++) places[digit + 1] += places[digit];
    for (let at = 0; at < n; at++) to[places[(keys[from[at]] >> shift) & mask]++] = from[at];
    [from, to] = [to, from];
  }
  return from.subarray(0, n);
}

/** Memory that ranking works in, the same each time: fresh memory costs more than what is done in it. */
function rankRoom() {
  const column = () => new Int32Array(lotCount);
  rankRoom.made = rankRoom.made || {score: column(), keys: column(), sorts: [column(), column(), column()], rank: column(), start: column(), end: column()};
  return rankRoom.made;
}

/** Add a column, counted so many times, to sums. */
function addCounted(sums, values, times) {
  for (let lot = 0; lot < sums.length; lot++) if (values[lot] > 0) sums[lot] += values[lot] * times;
}

/** Sums of all weights to scores, -1 where ruled out. */
function toScores(sums, weight, total) {
  for (let lot = 0; lot < sums.length; lot++) sums[lot] = weight[lot] === RULES_OUT ? -1 : total ? Math.floor(sums[lot] / total) : 0;
}

/** Scores of the lots by weights, -1 where ruled out. */
function scoresOf(lots, byRule) {
  const used = data.criteria.map((criterion) => byRule[criterion.rule]);
  const sums = rankRoom().score.fill(0);
  lots.values.forEach((values, at) => addCounted(sums, values, used[at]));
  toScores(sums, lots.weight, used.reduce((sum, one) => sum + one, 0));
  return sums;
}

/** The lots that are scored and still on the list, in the order of rank: best score, then most kept, then as in the table. */
function inOrder(kept, score) {
  const {off} = runLots();
  const {keys, sorts: [first, second, third]} = rankRoom();
  let [count, most] = [0, 0];
  for (let lot = 0; lot < lotCount; lot++) {
    if (score[lot] < 0 || (off && off[lot] === 1)) continue;
    first[count++] = lot;
    if (kept[lot] > most) most = kept[lot];
  }
  const listed = first.subarray(0, count);
  for (let lot = 0; lot < lotCount; lot++) keys[lot] = most - Math.max(kept[lot], 0);
  const byKept = sortedBy(listed, keys, [second, third]);
  for (let lot = 0; lot < lotCount; lot++) keys[lot] = 10000 - score[lot];
  return sortedBy(byKept, keys, [first, byKept.buffer === second.buffer ? third : second]);
}

/** Scores, ranks and groups of about equal rank, for every lot that is not ruled out and still on the list. */
function rankWith(lots, byRule) {
  const score = scoresOf(lots, byRule);
  const order = inOrder(lots.kept, score);
  const {rank, start, end} = rankRoom();
  rank.fill(0);
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

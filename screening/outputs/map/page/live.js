// Rules tried out in the page: limits, visits and weights; everything that follows from them, at once.

const ABOUT_EQUAL = 200; // scores this near to the first of their group are about equal
const DRAWN_ALONG = {capture_depth_mm: "capture_depth_least_mm", slope_limit_pct: "slope_look_pct"};

let changes = {}; // rules changed, by name; empty while they are the run's
let weights = null; // weights by rule; null while they are the run's
let visited = null; // 1 for each lot among the first visits

function runRule(name) {
  return data.rules[name].value;
}

/** A rule as it is tried out. */
function ruleNow(name) {
  return name in changes ? changes[name] : weights && name in weights ? weights[name] : runRule(name);
}

function runWeights() {
  return Object.fromEntries(data.criteria.map((criterion) => [criterion.rule, runRule(criterion.rule)]));
}

function weightOf(rule) {
  return weights ? weights[rule] : runRule(rule);
}

/** The lots that are scored, in the order of rank: best score, then most kept, then as in the table. */
function inOrder(scored, score, kept) {
  const wide = 2 ** 20;
  const keys = new Float64Array(scored.length);
  let fits = lotCount <= 2 ** 19;
  scored.forEach((lot, at) => {
    const cents = Math.round((kept[lot] || 0) * 100);
    if (cents >= wide) fits = false;
    keys[at] = ((10000 - score[lot]) * wide + (wide - 1 - cents)) * 2 ** 19 + lot;
  });
  if (!fits) return scored.slice().sort((a, b) => score[b] - score[a] || (kept[b] || 0) - (kept[a] || 0) || a - b);
  return Array.from(keys.sort(), (key) => key % 2 ** 19);
}

/** Scores, ranks and groups of about equal rank, for every lot that is not ruled out and still on the list. */
function rankWith(lots, byRule) {
  const used = data.criteria.map((criterion) => byRule[criterion.rule]);
  const total = used.reduce((sum, one) => sum + one, 0);
  const run = tables.lots.columns;
  const column = (name) => lots[name] || run[name];
  const values = data.criteria.map((criterion) => column(criterion.column));
  const [verdict, kept] = [column("verdict"), column("storm_kept_m3")];
  const off = run.contact_status ? new Set(data.off_list) : null;
  const out = {score: new Array(lotCount).fill(null), rank: new Array(lotCount).fill(null), rank_group: new Array(lotCount).fill(null)};
  const listed = [];
  for (let lot = 0; lot < lotCount; lot++) {
    if (verdict[lot] === "ruled out") continue;
    let sum = 0;
    for (let at = 0; at < values.length; at++) sum += (values[at][lot] || 0) * used[at];
    out.score[lot] = total ? Math.floor(sum / total) : 0;
    if (!off || !off.has(run.contact_status[lot])) listed.push(lot);
  }
  const ranked = inOrder(listed, out.score, kept);
  ranked.forEach((lot, at) => (out.rank[lot] = at + 1));
  for (let first = 0; first < ranked.length; ) {
    let last = first;
    while (last + 1 < ranked.length && out.score[ranked[first]] - out.score[ranked[last + 1]] <= ABOUT_EQUAL) last += 1;
    const group = last > first ? `${first + 1}-${last + 1}` : String(first + 1);
    for (let at = first; at <= last; at++) out.rank_group[ranked[at]] = group;
    first = last + 1;
  }
  return out;
}

/** Where classes begin: fifths of the scored lots, each moved to the nearest five points of a hundred, as in the run. */
function fifths(scores) {
  const known = Float64Array.from(scores.filter((score) => score !== null)).sort();
  if (!known.length) return data.breaks;
  const step = 500;
  const out = [1, 2, 3, 4].map((part) => Math.floor((known[Math.min(Math.floor((known.length * part) / 5), known.length - 1)] + step / 2) / step));
  const rise = () => {
    for (let at = 1; at < 4; at++) out[at] = Math.max(out[at], out[at - 1] + 1);
  };
  rise();
  for (let at = 3; at >= 0; at--) out[at] = Math.min(out[at], 10000 / step - 1 - (3 - at));
  out[0] = Math.max(out[0], 1);
  rise();
  return out.map((edge) => edge * step);
}

/** The first visits: by rank, passing over lots of a street that has as many as it may. */
function firstVisits() {
  const [most, ofStreet] = [ruleNow("visits"), ruleNow("visits_of_street_most")];
  const order = [];
  const ranks = tried.rank || tables.lots.columns.rank;
  for (let lot = 0; lot < lotCount; lot++) if (ranks[lot] !== null) order[ranks[lot]] = lot;
  const [out, had] = [new Uint8Array(lotCount), new Map()];
  let left = most;
  for (const lot of order) {
    if (lot === undefined) continue;
    if (!left) break;
    const street = lotValue("street", lot) || "";
    if (ofStreet && (had.get(street) || 0) >= ofStreet) continue;
    had.set(street, (had.get(street) || 0) + 1);
    out[lot] = 1;
    left -= 1;
  }
  return out;
}

/** Totals of the streets under what is tried out: counts by verdict, and water. */
function streetTotals() {
  const run = tables.streets.columns;
  const place = new Map(run.street.map((name, row) => [name, row]));
  const rows = run.street.length;
  const named = ["feasible", "approach", "test_soil_first", "look_closer", "ruled_out"];
  const out = Object.fromEntries(named.map((name) => [name, new Array(rows).fill(0)]));
  const [captured, kept] = [new Float64Array(rows), new Float64Array(rows)];
  const known = [new Uint8Array(rows), new Uint8Array(rows)];
  const [verdict, caught, saved] = ["verdict", "storm_captured_m3", "storm_kept_m3"].map((name) => tried[name] || tables.lots.columns[name]);
  for (let lot = 0; lot < lotCount; lot++) {
    const row = place.get(lotValue("street", lot) || data.no_street);
    if (row === undefined) continue;
    out[verdict[lot].replaceAll(" ", "_")][row] += 1;
    if (verdict[lot] === "ruled out") continue;
    out.feasible[row] += 1;
    if (caught && caught[lot] !== null) [captured[row], known[0][row]] = [captured[row] + Math.round(caught[lot] * 100), 1];
    if (saved[lot] !== null) [kept[row], known[1][row]] = [kept[row] + Math.round(saved[lot] * 100), 1];
  }
  out.storm_captured_m3 = Array.from(captured, (sum, row) => (known[0][row] ? sum / 100 : null));
  out.storm_kept_m3 = Array.from(kept, (sum, row) => (known[1][row] ? sum / 100 : null));
  out.storm_kept_share = out.storm_kept_m3.map((sum, row) => (run.storm_runoff_m3[row] && sum !== null ? rounded(sum / run.storm_runoff_m3[row], 1000) : null));
  return out;
}

/** Whether limits are changed, so that lots are judged anew. */
function limitsChanged() {
  return ["capture_depth_mm", "slope_limit_pct"].some((name) => name in changes);
}

/** Judge, rank and sum up anew under what is tried out, and let every view follow. */
function followRules() {
  const start = performance.now();
  judged = limitsChanged() ? judgeUnder(ruleNow) : null;
  tried = judged ? {...judged.lots} : {};
  if (judged || weights) Object.assign(tried, rankWith(tried, weights || runWeights()));
  breaks = judged || weights ? fifths(tried.score) : data.breaks;
  triedStreets = judged ? streetTotals() : {};
  visited = firstVisits();
  performance.measure("judged", {start});
  limitOrder.found = null;
  applyFilter();
  changed("weights");
}

function setWeights(wantedChanges) {
  const wanted = {...(weights || runWeights()), ...wantedChanges};
  const same = Object.entries(runWeights()).every(([rule, value]) => wanted[rule] === value);
  weights = same ? null : wanted;
  followRules();
}

/** Change a rule; what may not lie above it is drawn along. */
function setRule(name, value) {
  const along = DRAWN_ALONG[name];
  delete changes[name];
  if (along) delete changes[along];
  if (value !== runRule(name)) {
    changes[name] = value;
    if (along && runRule(along) > value) changes[along] = value;
  }
  followRules();
}

function backToRun() {
  changes = {};
  weights = null;
  followRules();
}

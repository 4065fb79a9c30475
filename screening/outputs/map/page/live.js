// Rules tried out in the page: limits, visits and weights; everything that follows from them, at once.

const DRAWN_ALONG = {capture_depth_mm: "capture_depth_least_mm", slope_limit_pct: "slope_look_pct"};

const LIMIT_RULES = ["capture_depth_mm", "capture_depth_least_mm", "slope_limit_pct", "slope_look_pct"];

let changes = {}; // rules changed, by name; empty while they are the run's
let weights = null; // weights by rule; null while they are the run's
let lotsNow = null; // the lots as they are judged, as plain numbers
let order = null; // the ranked lots in the order of rank
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

/** Columns of the lots under what is tried out, each told by its rows. */
function triedColumns(lots, ranks) {
  const run = tables.lots.columns;
  const water = (column) => ({at: (lot) => (column[lot] < 0 ? null : column[lot] / 100)});
  const out = {
    score: {at: (lot) => (ranks.score[lot] < 0 ? null : ranks.score[lot])},
    rank: {at: (lot) => ranks.rank[lot] || null},
    rank_group: {at: (lot) => {
      const place = ranks.rank[lot] - 1;
      if (place < 0) return null;
      return ranks.end[place] > ranks.start[place] ? `${ranks.start[place]}-${ranks.end[place]}` : String(ranks.start[place]);
    }},
  };
  if (!lots.first) return out;
  const limit = (lot) => (lots.code[lot] === NO_CODE ? null : data.codes[lots.code[lot]]);
  const step = (lot) => {
    if (lots.first[lot] < 0) return run.next_step.at(lot);
    return ["call", "call", "soil test", data.next_steps[limit(lot)] || "visit", null][lots.weight[lot]];
  };
  Object.assign(out, {
    verdict: {at: (lot) => VERDICT_OF[lots.weight[lot]]}, deciding_limit: {at: limit}, next_step: {at: step},
    near_pass: {at: (lot) => [false, true, null][lots.near[lot]]},
    storm_kept_m3: water(lots.kept), storm_captured_m3: water(lots.captured), storm_run_on_held_m3: water(lots.lawn),
  });
  data.criteria.forEach((criterion, at) => (out[criterion.column] = {at: (lot) => (lots.values[at][lot] < 0 ? null : lots.values[at][lot])}));
  return out;
}

/** Row of the streets' table of each street that lots lie on, by the street's number. */
function streetRows() {
  const place = new Map(tables.streets.columns.street.map((name, row) => [name, row]));
  return Int32Array.from([null, ...streetsOfLots().words], (name) => place.get(name || data.no_street) ?? -1);
}

/** Totals of the streets under what is tried out: counts by verdict, and water. */
function streetTotals(lots) {
  const [run, rowOf, street] = [tables.streets.columns, streetRows(), streetsOfLots().of];
  const rows = tables.streets.rows;
  const [byVerdict, captured, kept] = [new Int32Array(5 * rows), new Float64Array(rows).fill(-1), new Float64Array(rows).fill(-1)];
  for (let lot = 0; lot < lotCount; lot++) {
    const row = rowOf[street[lot]];
    if (row < 0) continue;
    byVerdict[5 * row + lots.weight[lot]] += 1;
    if (lots.weight[lot] === RULES_OUT) continue;
    if (lots.captured[lot] >= 0) captured[row] = Math.max(captured[row], 0) + lots.captured[lot];
    if (lots.kept[lot] >= 0) kept[row] = Math.max(kept[row], 0) + lots.kept[lot];
  }
  const counts = (weight) => Array.from({length: rows}, (_, row) => byVerdict[5 * row + weight]);
  const water = (sums) => Array.from(sums, (sum) => (sum < 0 ? null : sum / 100));
  const out = {
    approach: counts(FINE), test_soil_first: counts(TEST_SOIL), look_closer: counts(LOOK_CLOSER), ruled_out: counts(RULES_OUT),
    storm_captured_m3: water(captured), storm_kept_m3: water(kept),
  };
  out.feasible = out.approach.map((count, row) => count + out.test_soil_first[row] + out.look_closer[row]);
  out.storm_kept_share = out.storm_kept_m3.map((sum, row) => (run.storm_runoff_m3[row] && sum !== null ? rounded(sum / run.storm_runoff_m3[row], 1000) : null));
  return out;
}

/** Whether limits are changed, so that lots are judged anew. */
function limitsChanged() {
  return LIMIT_RULES.some((name) => name in changes);
}

/** Judge, rank and sum up anew under what is tried out, and let every view follow. */
function followRules() {
  const start = performance.now();
  const limits = LIMIT_RULES.map((name) => ruleNow(name)).join(" ");
  if (!limitsChanged()) judged = null;
  else if (!judged || judged.limits !== limits) judged = {...judgeUnder(ruleNow), limits};
  lotsNow = judged || runLots();
  const ranks = judged || weights ? rankWith(lotsNow, weights || runWeights()) : null;
  tried = ranks ? triedColumns(lotsNow, ranks) : {};
  breaks = ranks ? fifths(ranks.score) : data.breaks;
  order = ranks ? ranks.order : runOrder();
  triedStreets = judged ? streetTotals(judged) : {};
  visited = firstVisits(order);
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

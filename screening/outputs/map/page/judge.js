// Judges the lots anew while a limit is changed: which kept candidate is each lot's spot, how it stands, what it keeps.
// Whole columns of plain numbers, filled lot by lot: a large area has a million candidates.

const VERDICT_OF = ["approach", "approach", "test soil first", "look closer", "ruled out"];
const SMALL = 1e-6;
const NO_CODE = 255;

let judged = null; // what a change of limits gave; null while they are the run's

/** Whole steps in a value; missing counts as none. */
function stepsIn(value, step) {
  return Math.floor((Number.isNaN(value) ? 0 : value) / step + SMALL);
}

/** Hundredths of a value, half up; -1 where missing. */
function cents(value) {
  return Number.isNaN(value) ? -1 : Math.floor(value * 100 + 0.5);
}

/** What judging needs of each candidate besides its columns, made once: what no live rule moves, and the order of lots. */
function judgeColumns() {
  if (judgeColumns.made) return judgeColumns.made;
  const c = candidateFigures();
  const fixedPart = (name) => Uint8Array.from(tables.judged.steps(`fixed_${name}`).of);
  const n = tables.candidates.rows;
  const number = tables.candidates.steps("candidate").of;
  const side = tables.candidates.words("side");
  const tail = new Int32Array(n); // the part of the order of candidates that no live rule moves
  const [soilWorth, runWorth, worth] = [new Uint16Array(n), new Uint16Array(n), worthOf(runRule)];
  const start = new Int32Array(lotCount + 1);
  for (let i = 0; i < n; i++) {
    const shape = c.aspect[i] >= 1.5 - SMALL && c.aspect[i] <= 2.0 + SMALL ? 0 : 1;
    const [far, steep] = [Math.min(stepsIn(c.run[i], 1.0), 1023), Math.min(stepsIn(c.slope[i], 5.0), 63)];
    tail[i] = ((shape * 1024 + far) * 64 + steep) * 16 + number[i];
    soilWorth[i] = straightLine(rounded(c.ksat[i], 100) * 3.6, worth.infiltration_d_mm_h, worth.infiltration_a_mm_h);
    runWorth[i] = straightLine(rounded(c.run[i], 10), worth.run_limit_m, worth.runGood);
    if (c.lot[i] !== MISSING) start[c.lot[i] + 1] += 1;
  }
  for (let lot = 0; lot < lotCount; lot++) start[lot + 1] += start[lot];
  const rows = new Int32Array(start[lotCount]);
  const filled = start.slice(0, lotCount);
  for (let i = 0; i < n; i++) if (c.lot[i] !== MISSING) rows[filled[c.lot[i]]++] = i;
  judgeColumns.made = {
    ...c, weight: fixedPart("weight").map((weight) => Math.max(weight, NOTE)), // a note puts no candidate behind another
    count: fixedPart("count"), code: fixedPart("code"), near: fixedPart("near"), tail, start, rows, number, soilWorth, runWorth,
    beside: tables.judged.described.beside ? tables.judged.steps("beside").of : null,
    sideWorth: Uint16Array.from(side.of, (at) => ({front: 10000, side: 5000})[side.words[at - 1]] || 0),
  };
  return judgeColumns.made;
}

/** The lots as the run judged them, as plain numbers, and what holds of each whatever its spot. */
function runLots() {
  if (runLots.made) return runLots.made;
  const steps = (name) => tables.lots.columns[name].held;
  const words = (name, tell) => {
    const {of, words: known} = steps(name);
    const told = known.map(tell);
    return Uint8Array.from(of, (at) => (at ? told[at - 1] : NO_CODE));
  };
  const hundredths = (name) => Int32Array.from(steps(name).of, (at) => (at === MISSING ? -1 : Math.round((at * 100) / steps(name).per)));
  const whole = (name) => Int32Array.from(steps(name).of, (at) => (at === MISSING ? -1 : at));
  const weightOfWord = {"approach": FINE, "test soil first": TEST_SOIL, "look closer": LOOK_CLOSER, "ruled out": RULES_OUT};
  const kept = hundredths("storm_kept_m3");
  runLots.made = {
    weight: words("verdict", (word) => weightOfWord[word]),
    code: words("deciding_limit", (code) => data.codes.indexOf(code)),
    near: Uint8Array.from(tables.lots.columns.near_pass.held.of, (at) => (at === MISSING ? 2 : at)),
    kept, captured: tables.lots.columns.storm_captured_m3 ? hundredths("storm_captured_m3") : kept,
    lawn: tables.lots.columns.storm_run_on_held_m3 ? hundredths("storm_run_on_held_m3") : new Int32Array(lotCount).fill(-1),
    values: data.criteria.map((criterion) => whole(criterion.column)),
    off: tables.lots.columns.contact_status ? words("contact_status", (word) => (data.off_list.includes(word) ? 1 : 0)) : null,
  };
  return runLots.made;
}

/** What holds of each lot whatever its spot. */
function ownOfLots() {
  ownOfLots.made = ownOfLots.made || Object.fromEntries(
    ["own_weight", "own_code", "own_near", "chance_low"].map((name) => [name.replace("own_", ""), Uint8Array.from(tables.own.steps(name).of)]));
  return ownOfLots.made;
}

/** Read what judging needs while the page is idle, a column at a time, so that the first change of a large area is quick. */
function prepareToJudge() {
  if (!tables.judged || prepareToJudge.begun) return;
  prepareToJudge.begun = true;
  const idle = window.requestIdleCallback || ((task) => setTimeout(task, 1));
  const columns = Object.values(CANDIDATE_FIGURES).filter((column) => tables.candidates.described[column]);
  const tasks = [...columns.map((column) => () => tables.candidates.figures(column)), candidateFigures, judgeColumns, runLots, ownOfLots];
  const next = () => {
    if (!tasks.length) return;
    tasks.shift()();
    idle(next);
  };
  idle(next);
}

/** Count one more reason in. */
function weigh(standing, weight, order, near) {
  if (weight === RULES_OUT && !near) standing.near = 0;
  if (weight > standing.weight) {
    standing.weight = weight;
    standing.count = 1;
    standing.code = order;
  } else if (weight === standing.weight) {
    standing.count += 1;
    if (order < standing.code) standing.code = order;
  }
}

/** How everything stands at a candidate: heaviest severity, how many are as heavy, the first of them, all near. False, and
 *  nothing said of the garden, when it stands worse than `most` or as badly by more than `mostCount` reasons. */
function stand(i, c, rules, orders, most, mostCount, standing, garden) {
  if (c.weight[i] > most) return false;
  standing.weight = c.weight[i];
  standing.count = c.count[i];
  standing.code = c.code[i];
  standing.near = c.near[i];
  const limits = rules.limits;
  const slope = c.slope[i];
  const steep = slopeWeight(slope, limits);
  if (steep > most) return false;
  if (steep !== FINE) weigh(standing, steep, orders.slope, slopeNear(slope, limits));
  const look = slopeLookWeight(slope, limits);
  if (look !== FINE) weigh(standing, look, orders.slope_look, false);
  if (standing.weight === most && most >= LOOK_CLOSER && standing.count > mostCount) return false;
  sizeGarden(i, c, rules.was, rules.now, garden);
  const error = c.error[i];
  const fall = fallWeight(garden.margin, error);
  if (fall !== FINE) weigh(standing, fall, orders.fall, fallNear(garden.margin, error));
  const room = c.most[i];
  const held = heldWeight(garden.held, room, limits.least);
  if (held !== FINE) weigh(standing, held, orders.under_minimum, heldNear(garden.held, room, limits.least));
  if (!Number.isNaN(c.water_table[i]) || !Number.isNaN(c.bedrock[i])) {
    finishGarden(i, c, rules.was, rules.now, garden);
    const bottom = bottomOf(c.ground[i], garden.lip, limits);
    const water = depthWeight(c.water_table[i], bottom, limits.water_table);
    if (water !== FINE) weigh(standing, water, orders.water_table, depthNear(c.water_table[i], bottom));
    const stone = depthWeight(c.bedrock[i], bottom, limits.bedrock);
    if (stone !== FINE) weigh(standing, stone, orders.bedrock, depthNear(c.bedrock[i], bottom));
  }
  return standing.weight <= most;
}

/** The order of candidates that stand alike as one whole number, the first smallest: reasons, water, shape, fall, run, slope. */
function orderOf(i, c, standing, garden) {
  const count = standing.weight >= LOOK_CLOSER ? standing.count : 0;
  const water = 63 - stepsIn(garden.kept, 0.05);
  const margin = garden.margin;
  const comfort = margin < 0.0 ? stepsIn(margin, 0.025 * 3) : Math.min(stepsIn(margin, 0.025), 3);
  const fall = Math.min(1003 - comfort, 2047);
  const shape = c.tail[i] >> 20;
  return (((count * 64 + water) * 2 + shape) * 2048 + fall) * 1048576 + (c.tail[i] & 1048575);
}

/** A value on a straight line between two ends, 0 to 10000; missing is worth nothing. */
function straightLine(measured, none, full) {
  const share = ((Number.isNaN(measured) ? none : measured) - none) / (full - none);
  return Math.floor(Math.min(Math.max(share, 0.0), 1.0) * 10000 + 0.5);
}

/** Rules that water and criteria depend on. */
function worthOf(rule) {
  const names = ["runoff_coefficient", "storm_depth_mm", "value_fall_full_m", "value_water_full_m3", "infiltration_d_mm_h", "infiltration_a_mm_h", "run_limit_m", "slope_limit_pct", "value_room_full_x"];
  return {...Object.fromEntries(names.map((name) => [name, rule(name)])), runGood: Math.min(rule("run_good_m"), rule("run_limit_m") - 0.01)};
}

/** What a lot's verdict comes to from its first candidate and what holds whatever its spot. */
function setVerdict(lot, standing, own, chanceCode, out) {
  let weight = standing.weight;
  let code = standing.code;
  if (own.weight[lot] > weight) {
    weight = own.weight[lot];
    code = own.code[lot];
  } else if (own.weight[lot] === weight && weight > FINE) code = Math.min(code, own.code[lot]);
  if (own.chance_low[lot] && standing.weight < RULES_OUT) {
    if (LOOK_CLOSER > weight) {
      weight = LOOK_CLOSER;
      code = chanceCode;
    } else if (LOOK_CLOSER === weight) code = Math.min(code, chanceCode);
  }
  out.weight[lot] = weight <= NOTE ? FINE : weight;
  out.code[lot] = weight <= NOTE ? NO_CODE : code;
  const nearly = (standing.weight < RULES_OUT || standing.near === 1) && (own.weight[lot] < RULES_OUT || own.near[lot] === 1);
  out.near[lot] = weight === RULES_OUT && nearly ? 1 : 0;
}

/** Water of the storm of a lot's garden, and of its second one where it has one: `second` is its candidate, -1 without. */
function setWater(lot, i, second, c, worth, runoff, found, out) {
  if (found.best.standing.weight === RULES_OUT) {
    out.captured[lot] = out.kept[lot] = 0;
    if (c.runOn) out.lawn[lot] = 0;
    return;
  }
  const shed = runoff.at(lot);
  const water = waterOf(i, c, worth, shed, found.best.garden);
  if (second >= 0) {
    const more = waterOf(second, c, worth, shed, found.second.garden);
    for (const name of ["captured", "kept", "lawn"]) water[name] += Number.isNaN(more[name]) ? 0 : more[name];
    for (const name of ["captured", "kept"]) water[name] = Math.min(water[name], shed);
  }
  if (c.runOn) out.lawn[lot] = cents(water.lawn);
  out.captured[lot] = cents(water.captured);
  out.kept[lot] = cents(water.kept);
}

/** What each criterion is worth on a lot, from its spot: water kept, soil, lead, slope, room, side. */
function setWorth(lot, i, c, worth, standing, garden, out) {
  const {water, soil, lead, flat, room, side} = out.byName;
  if (standing.weight === RULES_OUT) {
    water[lot] = soil[lot] = lead[lot] = flat[lot] = room[lot] = side[lot] = -1;
    return;
  }
  const spare = straightLine(rounded(garden.fall, 100) - rounded(c.needed[i], 100), 0.0, worth.value_fall_full_m);
  water[lot] = straightLine(out.kept[lot] < 0 ? NaN : out.kept[lot] / 100, 0.0, worth.value_water_full_m3);
  soil[lot] = c.soilWorth[i];
  lead[lot] = Math.floor((spare + c.runWorth[i]) / 2);
  flat[lot] = straightLine(c.slope[i], worth.slope_limit_pct, 0.0);
  room[lot] = straightLine(c.room[i] / garden.ponding, 1.0, worth.value_room_full_x);
  side[lot] = c.sideWorth[i];
}

const CRITERIA_HERE = {water: "value_water_kept", soil: "value_soil", lead: "value_lead", flat: "value_slope", room: "value_room", side: "value_side"};

/** Columns for the lots' new figures, those of the run to begin with. */
function freshLots() {
  const run = runLots();
  const values = run.values.map((column) => column.slice());
  return {
    first: new Int32Array(lotCount).fill(-1), out: new Uint8Array(lotCount), weight: run.weight.slice(), code: run.code.slice(),
    near: run.near.slice(), kept: run.kept.slice(), captured: run.captured.slice(), lawn: judgeColumns().runOn ? run.lawn.slice() : run.lawn, values,
    byName: Object.fromEntries(Object.entries(CRITERIA_HERE).map(([name, column]) => [name, values[data.criteria.findIndex((criterion) => criterion.column === column)]])),
  };
}

const ALL = -1; // every number of a candidate

/** The first in order of a lot's candidates whose number is among the bits of `numbers`, as heavy as `most` at most; -1 where
 *  none is. What it found is left in `found[name]`. */
function firstInOrder(lot, c, rules, orders, most, numbers, found, name) {
  const end = c.start[lot + 1];
  let [first, order] = [-1, 0.5];
  let [best, now] = [found[name], found.now];
  for (let at = c.start[lot]; at < end; at++) {
    const i = c.rows[at];
    if (numbers !== ALL && !((numbers >> c.number[i]) & 1)) continue;
    const heaviest = first < 0 ? most : best.standing.weight;
    const mostCount = first < 0 ? 4095 : best.standing.count;
    if (!stand(i, c, rules, orders, heaviest, mostCount, now.standing, now.garden)) continue;
    const place = orderOf(i, c, now.standing, now.garden);
    if (first >= 0 && now.standing.weight === best.standing.weight && place >= order) continue;
    const better = now;
    now = best;
    best = better;
    first = i;
    order = place;
  }
  found[name] = best;
  found.now = now;
  return first;
}

/** Judge every lot under changed limits. */
function judgeUnder(rule) {
  const [c, own, runoff, out] = [judgeColumns(), ownOfLots(), tables.lots.steps("storm_runoff_m3"), freshLots()];
  const [worth, chanceCode] = [worthOf(rule), data.codes.indexOf("chance")];
  const orders = Object.fromEntries(["fall", "slope", "slope_look", "under_minimum", "water_table", "bedrock"].map((code) => [code, data.codes.indexOf(code)]));
  const rulesOf = rulesByLot(rule);
  const room = () => ({standing: {weight: 0, count: 0, code: 0, near: 0}, garden: noGarden()});
  const found = {best: room(), second: room(), now: room()};
  for (let lot = 0; lot < lotCount; lot++) {
    const rules = rulesOf(lot);
    const first = firstInOrder(lot, c, rules, orders, RULES_OUT, ALL, found, "best");
    if (first < 0) continue;
    finishGarden(first, c, rules.was, rules.now, found.best.garden);
    const {standing, garden} = found.best;
    const beside = c.beside && standing.weight < RULES_OUT ? c.beside[first] : 0;
    const second = beside ? firstInOrder(lot, c, rules, orders, LOOK_CLOSER, beside, found, "second") : -1;
    out.first[lot] = first;
    out.out[lot] = standing.weight === RULES_OUT ? 1 : 0;
    setVerdict(lot, standing, own, chanceCode, out);
    setWater(lot, first, second, c, worth, runoff, found, out);
    setWorth(lot, first, c, worth, standing, garden, out);
  }
  return {...out, rulesOf};
}

/** The rules that a lot is judged by: made once for all lots without rules of their own. */
function rulesByLot(rule) {
  const made = (changed, run) => ({was: sizing(run), now: sizing(changed), limits: limitsOf(changed)});
  const usual = made(rule, runRule);
  const own = new Map([...ownRules().keys()].map((lot) => [lot, made(ruleFor(rule, lot), ruleFor(runRule, lot))]));
  return own.size ? (lot) => own.get(lot) || usual : () => usual;
}

// What judging needs of candidates and lots, made once: whole columns of plain numbers, which no live rule moves.

const SMALL = 1e-6;
const NO_CODE = 255;

/** Whole steps in a value; missing counts as none. */
function stepsIn(value, step) {
  return Math.floor((Number.isNaN(value) ? 0 : value) / step + SMALL);
}

/** A value on a straight line between two ends, 0 to 10000; missing is worth nothing. */
function straightLine(measured, none, full) {
  const share = ((Number.isNaN(measured) ? none : measured) - none) / (full - none);
  return Math.floor(Math.min(Math.max(share, 0.0), 1.0) * 10000 + 0.5);
}

/** Rules that water and criteria depend on. */
function worthOf(rule) {
  return {
    runoff: rule("runoff_coefficient"), storm: rule("storm_depth_mm"), runOn: Boolean(rule("run_on")), fallFull: rule("value_fall_full_m"),
    waterFull: rule("value_water_full_m3"), soilNone: rule("infiltration_d_mm_h"), soilFull: rule("infiltration_a_mm_h"),
    runNone: rule("run_limit_m"), runFull: Math.min(rule("run_good_m"), rule("run_limit_m") - 0.01), slopeNone: rule("slope_limit_pct"),
    roomFull: rule("value_room_full_x"),
  };
}

const [COUNT_BITS, CODE_FROM, NEAR_FROM] = [5, 8, 16]; // of a standing; what it is held together with begins at bits of its own

/** How reasons stand together, as one whole number: the heaviest severity, then how many are as heavy. */
function standsAs(weight, count) {
  return (weight << COUNT_BITS) + count;
}

/** A standing with one more reason counted in. */
function weighed(standing, weight) {
  const heaviest = standing >> COUNT_BITS;
  return weight > heaviest ? standsAs(weight, 1) : weight === heaviest ? standing + 1 : standing;
}

const PLACES = 64 * 2 ** 32; // places in order that one standing has

/** A candidate's place in the order of its lot's as one whole number, the first smallest: how it stands, water that it keeps,
 *  fall, and in `rest` what no live rule moves: shape, run, slope, number. Reasons count from "look closer" on. */
function placeOf(standing, kept, margin, rest) {
  const stands = standing < standsAs(LOOK_CLOSER, 0) ? standsAs(standing >> COUNT_BITS, 0) : standing;
  const water = 63 - stepsIn(kept, 0.05);
  const comfort = margin < 0.0 ? stepsIn(margin, 0.025 * 3) : Math.min(stepsIn(margin, 0.025), 3);
  return stands * PLACES + (2 * water + (rest >> 20)) * 2 ** 31 + Math.min(1003 - comfort, 2047) * 2 ** 20 + (rest & (2 ** 20 - 1));
}

/** The part of a candidate's place in the order that no live rule moves: shape, run, slope, number. */
function restOf(c, i, number) {
  const aspect = c.compared.at(i, ASPECT);
  const shape = aspect >= 1.5 - SMALL && aspect <= 2.0 + SMALL ? 0 : 1;
  const [far, steep] = [Math.min(stepsIn(c.first.at(i, RUN), 1.0), 1023), Math.min(stepsIn(c.compared.at(i, SLOPE), 5.0), 63)];
  return ((shape * 1024 + far) * 64 + steep) * 16 + number;
}

/** A column of small whole numbers, 0 where missing. */
function smallNumbers(table, name) {
  const out = new Uint8Array(table.rows);
  putSteps(table.described[name], table.numbers(name), out, 0, 1);
  return out;
}

/** What judging needs of the candidates besides their figures: the first place that each can come to under any limits, and the
 *  candidates of each lot. */
function judgeColumns() {
  if (judgeColumns.made) return judgeColumns.made;
  const [c, n, rulesOf, worth] = [candidateFigures(), tables.candidates.rows, rulesByLot(runRule), worthOf(runRule)];
  const [weight, count, code, near] = ["weight", "count", "code", "near"].map((name) => smallNumbers(tables.judged, `fixed_${name}`));
  const number = smallNumbers(tables.candidates, "candidate");
  const side = tables.candidates.words("side");
  const worthOfSide = [0, ...side.words.map((name) => ({front: 10000, side: 5000})[name] || 0)];
  const [comparedNow, first, firstPlace] = [c.compared.of, c.first.of, new Float64Array(n)];
  for (let i = 0; i < n; i++) {
    // a note puts no candidate behind another
    const standing = weight[i] < NOTE ? standsAs(NOTE, 0) : standsAs(weight[i], count[i]);
    const rest = restOf(c, i, number[i]);
    comparedNow[i * COMPARED_WIDE + REST] = rest;
    comparedNow[i * COMPARED_WIDE + STANDING] = standing + (code[i] << CODE_FROM) + (near[i] << NEAR_FROM);
    if (c.lot[i] === MISSING) continue;
    const kept = c.compared.at(i, KEPT);
    const whole = keptWhole(kept, c.compared.at(i, PONDING), rulesOf(c.lot[i]).was.ofArea * c.compared.at(i, AREA));
    firstPlace[i] = placeOf(standing, Math.max(rounded(whole, 1000), kept), Infinity, rest);
    first[i * FIRST_WIDE + SOIL_WORTH] = straightLine(rounded(c.first.at(i, KSAT), 100) * 3.6, worth.soilNone, worth.soilFull);
    first[i * FIRST_WIDE + RUN_WORTH] = straightLine(rounded(c.first.at(i, RUN), 10), worth.runNone, worth.runFull);
    first[i * FIRST_WIDE + SIDE_WORTH] = worthOfSide[side.of[i]];
  }
  const gardens = Boolean(tables.judged.described.beside);
  if (gardens) c.first.read(tables.judged, "beside", BESIDE);
  judgeColumns.made = {...c, ...lotsCandidates(c.lot, firstPlace), firstPlace, gardens};
  return judgeColumns.made;
}

/** The candidates of each lot, by their first places: those of lot n are rows[start[n]] up to rows[start[n + 1]]. */
function lotsCandidates(lots, places) {
  const start = new Int32Array(lotCount + 1);
  for (let i = 0; i < lots.length; i++) if (lots[i] !== MISSING) start[lots[i] + 1] += 1;
  for (let lot = 0; lot < lotCount; lot++) start[lot + 1] += start[lot];
  const rows = new Int32Array(start[lotCount]);
  const end = start.slice(0, lotCount);
  for (let i = 0; i < lots.length; i++) {
    if (lots[i] === MISSING) continue;
    let at = end[lots[i]]++;
    for (; at > start[lots[i]] && places[rows[at - 1]] > places[i]; at--) rows[at] = rows[at - 1];
    rows[at] = i;
  }
  return {start, rows};
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

/** What holds of each lot whatever its spot: reasons, and the water that it sheds in the storm. */
function ownOfLots() {
  ownOfLots.made = ownOfLots.made || {
    weight: smallNumbers(tables.own, "own_weight"), code: smallNumbers(tables.own, "own_code"), near: smallNumbers(tables.own, "own_near"),
    chance_low: smallNumbers(tables.own, "chance_low"), shed: tables.lots.steps("storm_runoff_m3"),
  };
  return ownOfLots.made;
}

/** Read what judging needs while the page is idle, a column at a time, so that the first change of a large area is quick. */
function prepareToJudge() {
  if (!tables.judged || prepareToJudge.begun) return;
  prepareToJudge.begun = true;
  const idle = window.requestIdleCallback || ((task) => setTimeout(task, 1));
  const tasks = [judgeColumns, runLots, ownOfLots, newLots];
  const next = () => {
    if (!readFigures()) tasks.shift()();
    if (tasks.length) idle(next);
  };
  idle(next);
}

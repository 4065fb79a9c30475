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
  const names = ["runoff_coefficient", "storm_depth_mm", "value_fall_full_m", "value_water_full_m3", "infiltration_d_mm_h", "infiltration_a_mm_h", "run_limit_m", "slope_limit_pct", "value_room_full_x"];
  return {...Object.fromEntries(names.map((name) => [name, rule(name)])), runGood: Math.min(rule("run_good_m"), rule("run_limit_m") - 0.01)};
}

const COUNT_BITS = 5; // of a standing

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
  return stands * PLACES + water * 2 ** 32 + Math.min(1003 - comfort, 2047) * 2 ** 20 + rest;
}

/** What judging needs of each candidate besides its figures, and the candidates of each lot: where those of lot n `start` among
 *  `rows`, in the order of the first place that each can come to under any limits. */
function judgeColumns() {
  if (judgeColumns.made) return judgeColumns.made;
  const c = candidateFigures();
  const n = tables.candidates.rows;
  const fixedPart = (name) => Uint8Array.from(tables.judged.steps(`fixed_${name}`).of);
  const [weight, count, number] = [fixedPart("weight"), fixedPart("count"), tables.candidates.steps("candidate").of];
  const [standing, rest, firstPlace] = [new Uint8Array(n), new Uint32Array(n), new Float64Array(n)];
  const [soilWorth, runWorth, worth] = [new Uint16Array(n), new Uint16Array(n), worthOf(runRule)];
  for (let i = 0; i < n; i++) {
    const shape = c.aspect[i] >= 1.5 - SMALL && c.aspect[i] <= 2.0 + SMALL ? 0 : 1;
    const [far, steep] = [Math.min(stepsIn(c.run[i], 1.0), 1023), Math.min(stepsIn(c.slope[i], 5.0), 63)];
    rest[i] = shape * 2 ** 31 + (far * 64 + steep) * 16 + number[i];
    standing[i] = weight[i] < NOTE ? standsAs(NOTE, 0) : standsAs(weight[i], count[i]); // a note puts none behind another
    firstPlace[i] = placeOf(standing[i], Math.max(rounded(c.whole[i], 1000), c.kept[i]), Infinity, rest[i]);
    soilWorth[i] = straightLine(rounded(c.ksat[i], 100) * 3.6, worth.infiltration_d_mm_h, worth.infiltration_a_mm_h);
    runWorth[i] = straightLine(rounded(c.run[i], 10), worth.run_limit_m, worth.runGood);
  }
  const side = tables.candidates.words("side");
  judgeColumns.made = {
    ...c, ...lotsCandidates(c.lot, firstPlace), standing, rest, firstPlace, number, code: fixedPart("code"), near: fixedPart("near"), soilWorth, runWorth,
    beside: tables.judged.described.beside ? tables.judged.steps("beside").of : null,
    sideWorth: Uint16Array.from(side.of, (at) => ({front: 10000, side: 5000})[side.words[at - 1]] || 0),
  };
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

// Judges the lots anew while a limit is changed: which kept candidate is each lot's spot, how it stands, what it keeps.

const [FINE, NOTE, TEST_SOIL, LOOK_CLOSER, RULES_OUT] = [0, 1, 2, 3, 4];
const VERDICT_OF = ["approach", "approach", "test soil first", "look closer", "ruled out"];
const SMALL = 1e-6;

let judged = null; // what a change of limits gave; null while they are the run's

/** Whole steps in a value; missing counts as none. */
function stepsIn(value, step) {
  return Math.floor((Number.isNaN(value) ? 0 : value) / step + SMALL);
}

/** What the limits judged here depend on. */
function limitsOf(rule) {
  return {
    slopeLimit: rule("slope_limit_pct"), slopeLook: rule("slope_look_pct"), slopeError: 2.0 * rule("slope_error_pct"),
    least: rule("capture_depth_least_mm"), layers: (rule("ponding_depth_mm") + rule("mulch_mm") + rule("bed_depth_mm")) / 1000.0,
    water_table: rule("water_table_clearance_m"), bedrock: rule("bedrock_clearance_m"),
  };
}

/** The limits that the page judges itself: each from a candidate's number to {weight, near, measured, limit}. */
function liveLimits(rule, gardens) {
  const c = (name) => tables.candidates.numbers(name);
  const [slope, error, needed, most, ground] = [c("slope_pct"), c("fall_error_m"), c("fall_needed_m"), c("capture_most_mm"), c("ground_m")];
  const k = forCandidates(rule, limitsOf);
  const depth = (name) => {
    const found = c(`${name}_m`);
    return (i, out) => {
      const bottom = k(i).layers + Math.max(ground[i] - gardens.lip_m[i], 0.0);
      out.limit = bottom + k(i)[name];
      out.measured = found[i];
      out.weight = found[i] < bottom ? RULES_OUT : found[i] < out.limit ? TEST_SOIL : FINE;
      out.near = found[i] >= bottom - 0.1;
    };
  };
  return {
    fall: (i, out) => {
      const margin = gardens.fall_margin_m[i];
      const beyond = margin < -2.0 * error[i] - 1e-9;
      out.weight = beyond ? RULES_OUT : margin < -1e-9 ? LOOK_CLOSER : FINE;
      out.near = beyond && margin >= -3.0 * error[i];
      out.measured = margin + needed[i];
      out.limit = needed[i];
    },
    slope: (i, out) => {
      const {slopeLimit, slopeError} = k(i);
      const beyond = slope[i] > slopeLimit + slopeError;
      out.weight = beyond ? RULES_OUT : slope[i] > slopeLimit ? LOOK_CLOSER : FINE;
      out.near = beyond && slope[i] <= slopeLimit + 1.5 * slopeError;
      out.measured = slope[i];
      out.limit = slopeLimit;
    },
    slope_look: (i, out) => {
      const {slopeLimit, slopeLook} = k(i);
      out.weight = slope[i] >= slopeLook && slope[i] <= slopeLimit ? LOOK_CLOSER : FINE;
      out.near = false;
      out.measured = slope[i];
      out.limit = slopeLook;
    },
    under_minimum: (i, out) => {
      const [held, least] = [gardens.capture_depth_mm[i], k(i).least];
      const small = held < least - 1e-6;
      out.weight = small && most[i] < least - 1e-6 ? RULES_OUT : small ? LOOK_CLOSER : FINE;
      out.near = small && Math.max(held, most[i]) >= 0.8 * least;
      out.measured = held;
      out.limit = least;
    },
    water_table: depth("water_table"),
    bedrock: depth("bedrock"),
  };
}

/** The words that the sentence of a limit judged here ends with. */
function liveDetail(code, i, found, gardens) {
  if (code === "fall") {
    if (found.weight === RULES_OUT) return gardens.fall_m[i] < 0 ? "Even the best place lies above the ground at the downspout." : "";
    return `That is within the error of the elevation (${fixed(2 * tables.candidates.numbers("fall_error_m")[i], 2)}\u00a0m): take levels.`;
  }
  if (code !== "slope" || found.weight === RULES_OUT) return "";
  return `That is within the error of a slope (${fixed(2 * runRule("slope_error_pct"), 0)} points).`;
}

/** How everything stands at each candidate: heaviest severity, how many are as heavy, the first of them, all near. */
function standings(limits) {
  const n = tables.candidates.rows;
  const fixedPart = ["weight", "count", "code", "near"].map((name) => tables.judged.numbers(`fixed_${name}`));
  const out = {weight: new Uint8Array(n), count: new Uint8Array(n), code: new Uint8Array(n), near: new Uint8Array(n)};
  const ruled = Object.entries(limits).map(([code, limit]) => [data.codes.indexOf(code), limit]);
  const found = {weight: 0, near: false, measured: 0, limit: 0};
  for (let i = 0; i < n; i++) {
    let [weight, count, first, near] = [fixedPart[0][i], fixedPart[1][i], fixedPart[2][i], fixedPart[3][i]];
    for (const [order, limit] of ruled) {
      limit(i, found);
      if (found.weight === FINE) continue;
      if (found.weight === RULES_OUT && !found.near) near = 0;
      if (found.weight > weight) [weight, count, first] = [found.weight, 1, order];
      else if (found.weight === weight) [count, first] = [count + 1, Math.min(first, order)];
    }
    out.weight[i] = weight;
    out.count[i] = count;
    out.code[i] = first;
    out.near[i] = near;
  }
  return out;
}

/** The first candidate of each lot, in the order of the run; -1 for lots that have none. */
function firstOfLots(standing, gardens) {
  const c = (name) => tables.candidates.numbers(name);
  const [lot, aspect, run, slope, number] = [c("lot"), c("aspect"), c("run_m"), c("slope_pct"), c("candidate")];
  const n = tables.candidates.rows;
  const first = new Int32Array(lotCount).fill(-1);
  const comfort = (margin) => (margin < 0.0 ? stepsIn(margin, 0.025 * 3) : Math.min(stepsIn(margin, 0.025), 3));
  // the parts of the order in one whole number, the heaviest first; severity is compared before it
  const key = (i) => {
    const count = standing.weight[i] >= LOOK_CLOSER ? standing.count[i] : 0;
    const water = 63 - stepsIn(gardens.kept_of_lot_share[i], 0.05);
    const shape = aspect[i] >= 1.5 - SMALL && aspect[i] <= 2.0 + SMALL ? 0 : 1;
    const fall = Math.min(1003 - comfort(gardens.fall_margin_m[i]), 2047);
    const [far, steep] = [Math.min(stepsIn(run[i], 1.0), 1023), Math.min(stepsIn(slope[i], 5.0), 63)];
    return (((((count * 64 + water) * 2 + shape) * 2048 + fall) * 1024 + far) * 64 + steep) * 16 + number[i];
  };
  for (let i = 0; i < n; i++) {
    const at = lot[i];
    if (!(at >= 0)) continue;
    const held = first[at];
    if (held < 0 || standing.weight[i] < standing.weight[held]) first[at] = i;
    else if (standing.weight[i] === standing.weight[held] && key(i) < key(held)) first[at] = i;
  }
  return first;
}

/** What a lot's verdict comes to from its first candidate and what holds whatever its spot. */
function verdictsOf(standing, first) {
  const own = ["weight", "code", "near"].map((name) => tables.own.numbers(`own_${name}`));
  const chance = tables.own.numbers("chance_low");
  const chanceCode = data.codes.indexOf("chance");
  const run = tables.lots.columns;
  const out = {verdict: run.verdict.slice(), deciding_limit: run.deciding_limit.slice(), near_pass: run.near_pass.slice(), next_step: run.next_step.slice()};
  for (let lot = 0; lot < lotCount; lot++) {
    const i = first[lot];
    if (i < 0) continue;
    let [weight, code] = [standing.weight[i], standing.code[i]];
    const more = [[own[0][lot], own[1][lot]]];
    if (chance[lot] && weight < RULES_OUT) more.push([LOOK_CLOSER, chanceCode]);
    for (const [w, order] of more) {
      if (w > weight) [weight, code] = [w, order];
      else if (w === weight && w > FINE) code = Math.min(code, order);
    }
    const verdict = VERDICT_OF[weight];
    const decides = weight <= NOTE ? null : data.codes[code];
    out.verdict[lot] = verdict;
    out.deciding_limit[lot] = decides;
    out.near_pass[lot] = weight === RULES_OUT && (standing.weight[i] < RULES_OUT || standing.near[i] === 1) && (own[0][lot] < RULES_OUT || own[2][lot] === 1);
    out.next_step[lot] = weight === RULES_OUT ? null : weight === TEST_SOIL ? "soil test" : weight === LOOK_CLOSER ? data.next_steps[decides] || "visit" : "call";
  }
  return out;
}

/** Water of the storm that each lot's garden captures and keeps out of the drain. */
function stormOf(rule, gardens, standing, first) {
  const c = (name) => tables.candidates.numbers(name);
  const [area, reach, runoff] = [c("draining_area_m2"), c("kept_share"), tables.lots.numbers("storm_runoff_m3")];
  const run = tables.lots.columns;
  const out = {storm_captured_m3: (run.storm_captured_m3 || run.storm_kept_m3).slice(), storm_kept_m3: run.storm_kept_m3.slice()};
  for (let lot = 0; lot < lotCount; lot++) {
    const i = first[lot];
    if (i < 0) continue;
    const garden = standing.weight[i] < RULES_OUT && area[i] > 0;
    let captured = 0;
    if (garden) {
      captured = rule("runoff_coefficient") * (Math.min(rule("storm_depth_mm"), gardens.capture_depth_mm[i]) / 1000.0) * area[i];
      if (!Number.isNaN(runoff[lot])) captured = Math.min(captured, runoff[lot]);
    }
    const kept = garden ? captured * reach[i] : 0;
    out.storm_captured_m3[lot] = Number.isNaN(captured) ? null : rounded(captured, 100);
    out.storm_kept_m3[lot] = Number.isNaN(kept) ? null : rounded(kept, 100);
  }
  return out;
}

/** A value on a straight line between two ends, 0 to 10000; missing is worth nothing. */
function straightLine(measured, none, full) {
  const share = ((Number.isNaN(measured) ? none : measured) - none) / (full - none);
  return Math.floor(Math.min(Math.max(share, 0.0), 1.0) * 10000 + 0.5);
}

/** What each criterion is worth on each lot, from its spot. */
function criteriaOf(rule, gardens, standing, first, kept) {
  const c = (name) => tables.candidates.numbers(name);
  const [ksat, needed, run, slope, room] = [c("ksat_um_s"), c("fall_needed_m"), c("run_m"), c("slope_pct"), c("room_m2")];
  const side = tables.candidates.columns.side;
  const names = ["value_water_kept", "value_soil", "value_lead", "value_slope", "value_room", "value_side"];
  const out = Object.fromEntries(names.map((name) => [name, tables.lots.columns[name].slice()]));
  const runGood = Math.min(rule("run_good_m"), rule("run_limit_m") - 0.01);
  for (let lot = 0; lot < lotCount; lot++) {
    const i = first[lot];
    if (i < 0) continue;
    if (standing.weight[i] === RULES_OUT) {
      for (const name of names) out[name][lot] = null;
      continue;
    }
    const spare = straightLine(rounded(gardens.fall_m[i], 100) - rounded(needed[i], 100), 0.0, rule("value_fall_full_m"));
    out.value_water_kept[lot] = straightLine(kept[lot] === null ? NaN : kept[lot], 0.0, rule("value_water_full_m3"));
    out.value_soil[lot] = straightLine(rounded(ksat[i], 100) * 3.6, rule("infiltration_d_mm_h"), rule("infiltration_a_mm_h"));
    out.value_lead[lot] = Math.floor((spare + straightLine(rounded(run[i], 10), rule("run_limit_m"), runGood)) / 2);
    out.value_slope[lot] = straightLine(slope[i], rule("slope_limit_pct"), 0.0);
    out.value_room[lot] = straightLine(room[i] / gardens.ponding_area_m2[i], 1.0, rule("value_room_full_x"));
    out.value_side[lot] = side[i] === "front" ? 10000 : side[i] === "side" ? 5000 : 0;
  }
  return out;
}

/** Judge every lot under changed limits. */
function judgeUnder(rule) {
  const gardens = gardensUnder(rule);
  const limits = liveLimits(rule, gardens);
  const standing = standings(limits);
  const first = firstOfLots(standing, gardens);
  const lots = {...verdictsOf(standing, first), ...stormOf(rule, gardens, standing, first)};
  Object.assign(lots, criteriaOf(rule, gardens, standing, first, lots.storm_kept_m3));
  return {gardens, limits, standing, first, lots};
}

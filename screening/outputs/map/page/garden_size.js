// Sizes gardens anew at the places that the run kept, for another capture depth, and what they then capture: the arithmetic
// of the run, step by step.

/** Half up to a step told as steps in one, as everywhere in the run. */
function rounded(value, stepsInOne) {
  return Math.floor(value * stepsInOne + 0.5) / stepsInOne;
}

const CANDIDATE_FIGURES = {
  ponding: "ponding_area_m2", held: "capture_depth_mm", kept: "kept_of_lot_share", lip: "lip_m", fall: "fall_m", margin: "fall_margin_m",
  drop: "drop_m", area: "draining_area_m2", room: "room_m2", aspect: "aspect", ground: "ground_m", error: "fall_error_m", needed: "fall_needed_m",
  slope: "slope_pct", most: "capture_most_mm", water_table: "water_table_m", bedrock: "bedrock_m", run: "run_m", ksat: "ksat_um_s", reach: "kept_share",
};

/** The columns of the candidates that limits depend on, NaN where missing, and the lot of each; and of each, what another depth
 *  moves as little: the highest lip that its lead allows, and the share kept that a garden of the whole size wanted keeps. */
function candidateFigures() {
  if (!candidateFigures.made) {
    const c = Object.fromEntries(Object.entries(CANDIDATE_FIGURES).map(([name, column]) => [name, tables.candidates.figures(column)]));
    const lot = tables.candidates.steps("lot").of;
    const [rulesOf, low] = [rulesByLot(runRule), tables.candidates.figures("lip_low_m")];
    const [top, whole] = [new Float64Array(lot.length), new Float64Array(lot.length)];
    for (let i = 0; i < lot.length; i++) {
      top[i] = low[i] + c.margin[i];
      const before = Math.min(c.ponding[i] / Math.max(rulesOf(lot[i]).was.ofArea * c.area[i], 1e-9), 1.0);
      whole[i] = Math.min(c.kept[i] / before, 1.0);
    }
    candidateFigures.made = {...c, lot, top, whole, runOn: runRule("run_on") ? tables.candidates.figures("run_on_m3") : null};
  }
  return candidateFigures.made;
}

/** Rules of single lots instead of the area's, by the lot's number: {rule: value}. */
function ownRules() {
  if (!ownRules.found) {
    ownRules.found = new Map();
    const column = tables.lots.columns.own_rules;
    for (let lot = 0; column && lot < lotCount; lot++) {
      const words = column.at(lot);
      if (!words) continue;
      const given = words.split("; ").map((part) => part.split(" ")).map(([name, value]) => [name, Number(value)]);
      ownRules.found.set(lot, Object.fromEntries(given));
    }
  }
  return ownRules.found;
}

/** For each lot which of those with rules of their own it is, from 1; 0 for all others. */
function ownRuleNumbers() {
  if (!ownRuleNumbers.made) {
    ownRuleNumbers.made = new Int32Array(lotCount);
    Array.from(ownRules().keys()).forEach((lot, at) => (ownRuleNumbers.made[lot] = at + 1));
  }
  return ownRuleNumbers.made;
}

/** A rule by name as it holds for a lot. */
function ruleFor(rule, lot) {
  const own = ownRules().get(lot);
  return own ? (name) => (name in own ? own[name] : rule(name)) : rule;
}

/** What the size of a garden depends on. */
function sizing(rule) {
  const wanted = Math.max(rule("capture_depth_mm"), rule("capture_depth_least_mm"));
  const perMm = rule("runoff_coefficient") / (rule("ponding_depth_mm") + rule("void_fraction") * rule("bed_depth_mm"));
  const halfWidth = 0.5 * rule("width_least_m");
  return {
    wanted, perMm, ofArea: perMm * wanted, leastOfAspect: Math.PI * (halfWidth * halfWidth), cut: rule("cut_most_m"), leastArea: rule("ponding_area_least_m2"),
    bermMost: rule("berm_height_most_m"), freeboard: rule("berm_freeboard_mm") / 1000.0, ring: rule("berm_ring_m"),
  };
}

/** Lowest lip that can be built. */
function lowestLip(ground, drop, cut) {
  return Math.max(ground - drop, ground + drop - cut);
}

/** 0 fall met, 1 short within its error, 2 short beyond it. */
function fallClass(margin, error) {
  return margin >= -1e-9 ? 0 : margin >= -2.0 * error - 1e-9 ? 1 : 2;
}

/** A garden's figures, filled in one after another: one is made, not one for each garden. */
function noGarden() {
  return {size: 0.5, low: 0.5, top: 0.5, drop: 0.5, held: 0.5, kept: 0.5, margin: 0.5, ponding: 0.5, lip: 0.5, fall: 0.5};
}

/** The garden at a candidate `i` (columns `c`) under rules `now`, as far as places are compared by it; that of the run, made
 *  under `was`, where its depth stays. */
function sizeGarden(i, c, was, now, out) {
  if (was.wanted === now.wanted) {
    out.held = c.held[i];
    out.kept = c.kept[i];
    out.margin = c.margin[i];
    return;
  }
  const perMm = now.perMm;
  const cut = now.cut;
  const area = c.area[i];
  const room = c.room[i];
  const ground = c.ground[i];
  const error = c.error[i];
  const dropNow = c.drop[i];
  const runSize = c.ponding[i];
  const needed = now.ofArea * area;
  const least = Math.max(now.leastArea, now.leastOfAspect * c.aspect[i]);
  const top = c.top[i];
  let size = Math.min(Math.max(needed, least), room);
  let drop = dropNow * Math.sqrt(size / runSize);
  let low = lowestLip(ground, drop, cut);
  let klass = fallClass(top - low, error);
  if (runSize > size && klass > fallClass(top - lowestLip(ground, dropNow, cut), error)) {
    size = runSize; // it would lose its fall by being smaller
    drop = dropNow * Math.sqrt(size / runSize);
    low = lowestLip(ground, drop, cut);
    klass = fallClass(top - low, error);
  }
  if (klass === 2) {
    const stretch = cut / (2.0 * drop);
    const larger = Math.min(Math.max(size * (stretch * stretch), size), room);
    const reach = dropNow * Math.sqrt(larger / runSize);
    const lower = lowestLip(ground, reach, cut);
    if (fallClass(top - lower, error) < 2) {
      size = larger;
      drop = reach;
      low = lower;
    }
  }
  out.size = size;
  out.drop = drop;
  out.low = low;
  out.top = top;
  out.held = rounded(size / (perMm * area), 10);
  out.kept = rounded(c.whole[i] * Math.min(size / Math.max(needed, 1e-9), 1.0), 1000);
  out.margin = rounded(top - low, 1000);
}

/** The most that a garden at a candidate can keep at the depth wanted, its room full or as large as the run's. */
function keptMost(i, c, was, now) {
  if (was.wanted === now.wanted) return c.kept[i];
  return rounded(c.whole[i] * Math.min(Math.max(c.room[i], c.ponding[i]) / Math.max(now.ofArea * c.area[i], 1e-9), 1.0), 1000);
}

/** The rest of a garden's figures, after `sizeGarden`: its area, its lip and the fall to it. */
function finishGarden(i, c, was, now, out) {
  out.ponding = c.ponding[i];
  out.lip = c.lip[i];
  out.fall = c.fall[i];
  if (was.wanted === now.wanted) return;
  const ground = c.ground[i];
  const high = Math.max(ground - out.drop + now.bermMost - now.freeboard, out.low);
  const lip = Math.min(Math.max(Math.min(ground, out.top), out.low), high);
  out.ponding = rounded(out.size, 10);
  out.fall = rounded(out.fall + out.lip - lip, 1000);
  out.lip = rounded(lip, 1000);
}

/** A figure of the garden at a candidate, by its column, under the limits tried out. */
function gardenTried(name, i) {
  const c = candidateFigures();
  const rules = judged.rulesOf(c.lot[i]);
  const garden = noGarden();
  sizeGarden(i, c, rules.was, rules.now, garden);
  finishGarden(i, c, rules.was, rules.now, garden);
  if (name !== "footprint_m2") return garden[{ponding_area_m2: "ponding", capture_depth_mm: "held", fall_m: "fall"}[name]];
  if (rules.was.wanted === rules.now.wanted) return tables.candidates.columns.footprint_m2[i];
  return rounded(footprintOf(garden.size, c.aspect[i], rules.now.ring), 10);
}

/** Ponding area and the ring of even width around it, by the perimeter of an ellipse (arithmetic-geometric mean). */
function footprintOf(area, aspect, ring) {
  const short = Math.sqrt(area / (Math.PI * aspect));
  let [a, b, power] = [short * aspect, short, 0.5];
  let left = a * a;
  for (let turn = 0; turn < 30; turn++) {
    left -= power * (a * a - b * b);
    power *= 2;
    [a, b] = [(a + b) / 2, Math.sqrt(a * b)];
  }
  return area + ((2 * Math.PI * left) / a) * ring + Math.PI * ring * ring;
}

/** Roof water captured where lawn sheds into the garden too: in proportion to what comes, once it overfills. */
function withRunOn(captured, inflow, room, lawn) {
  const both = inflow + lawn;
  if (both > room && lawn > 0.0) return Math.min(captured, (room * inflow) / both);
  return Number.isNaN(lawn) ? NaN : captured;
}

/** Water of the storm that a garden captures, keeps out of the drain, and holds of what lawn sheds into it. */
function waterOf(i, c, worth, shed, garden) {
  const area = c.area[i];
  if (!(area > 0)) return {captured: 0, kept: 0, lawn: 0};
  const volume = (rain) => worth.runoff_coefficient * (rain / 1000.0) * area;
  let captured = volume(Math.min(worth.storm_depth_mm, garden.held));
  let lawn = 0;
  if (c.runOn) {
    const room = volume(garden.held);
    captured = withRunOn(captured, volume(worth.storm_depth_mm), room, c.runOn[i]);
    lawn = Math.min(c.runOn[i], room - captured);
  }
  if (!Number.isNaN(shed)) captured = Math.min(captured, shed);
  return {captured, kept: captured * c.reach[i], lawn};
}

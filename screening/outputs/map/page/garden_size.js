// Sizes gardens anew at the places that the run kept, for another capture depth, and what they then capture: the arithmetic
// of the run, step by step.

/** Half up to a step told as steps in one, as everywhere in the run. */
function rounded(value, stepsInOne) {
  return Math.floor(value * stepsInOne + 0.5) / stepsInOne;
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
  return {size: 0.5, low: 0.5, top: 0.5, drop: 0.5, held: 0.5, kept: 0.5, margin: 0.5, ponding: 0.5, lip: 0.5, fall: 0.5, place: 0.5};
}

/** The share of the lot's water that a garden keeps when it is as large as wanted, from that of the run's garden. */
function keptWhole(kept, size, needed) {
  return Math.min(kept / Math.min(size / Math.max(needed, 1e-9), 1.0), 1.0);
}

/** The garden at a candidate `i` (figures `c`) under rules `now`, as far as places are compared by it; that of the run, made
 *  under `was`, where its depth stays. */
function sizeGarden(i, c, was, now, out) {
  const {of, per} = c.compared;
  const at = i * COMPARED_WIDE;
  const margin = told(of[at + MARGIN], per[MARGIN]);
  const kept = told(of[at + KEPT], per[KEPT]);
  if (was.wanted === now.wanted) {
    out.held = c.first.at(i, HELD);
    out.kept = kept;
    out.margin = margin;
    return;
  }
  const perMm = now.perMm;
  const cut = now.cut;
  const area = told(of[at + AREA], per[AREA]);
  const room = told(of[at + ROOM], per[ROOM]);
  const ground = told(of[at + GROUND], per[GROUND]);
  const error = told(of[at + ERROR], per[ERROR]);
  const dropNow = told(of[at + DROP], per[DROP]);
  const runSize = told(of[at + PONDING], per[PONDING]);
  const needed = now.ofArea * area;
  const least = Math.max(now.leastArea, now.leastOfAspect * told(of[at + ASPECT], per[ASPECT]));
  const top = told(of[at + LOW], per[LOW]) + margin;
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
  out.kept = rounded(keptWhole(kept, runSize, was.ofArea * area) * Math.min(size / Math.max(needed, 1e-9), 1.0), 1000);
  out.margin = rounded(top - low, 1000);
}

/** The rest of a garden's figures, after `sizeGarden`: its area, its lip and the fall to it. */
function finishGarden(i, c, was, now, out) {
  const lipNow = c.first.at(i, LIP);
  const fallNow = c.first.at(i, FALL);
  if (was.wanted === now.wanted) {
    out.ponding = c.compared.at(i, PONDING);
    out.lip = lipNow;
    out.fall = fallNow;
    return;
  }
  const ground = c.compared.at(i, GROUND);
  const high = Math.max(ground - out.drop + now.bermMost - now.freeboard, out.low);
  const lip = Math.min(Math.max(Math.min(ground, out.top), out.low), high);
  out.ponding = rounded(out.size, 10);
  out.fall = rounded(fallNow + lipNow - lip, 1000);
  out.lip = rounded(lip, 1000);
}

/** The garden at a candidate under the limits tried out, and the rules of its lot. */
function gardenUnderLimits(i) {
  const c = candidateFigures();
  const rules = judged.rulesOf(c.lot[i]);
  const garden = noGarden();
  sizeGarden(i, c, rules.was, rules.now, garden);
  finishGarden(i, c, rules.was, rules.now, garden);
  return {garden, rules};
}

/** A figure of the garden at a candidate, by its column, under the limits tried out. */
function gardenTried(name, i) {
  const {garden, rules} = gardenUnderLimits(i);
  if (name !== "footprint_m2") return garden[{ponding_area_m2: "ponding", capture_depth_mm: "held", fall_m: "fall"}[name]];
  if (rules.was.wanted === rules.now.wanted) return tables.candidates.columns.footprint_m2[i];
  return rounded(footprintOf(garden.size, candidateFigures().compared.at(i, ASPECT), rules.now.ring), 10);
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

/** Roof water of so much rain [m3]. */
function roofWater(worth, rain, area) {
  return worth.runoff * (rain / 1000.0) * area;
}

/** Water of the storm that a garden captures, keeps out of the drain, and holds of what lawn sheds into it. */
function waterOf(i, c, worth, shed, garden, out) {
  const area = c.compared.at(i, AREA);
  out.captured = out.kept = out.lawn = 0;
  if (!(area > 0)) return;
  let captured = roofWater(worth, Math.min(worth.storm, garden.held), area);
  if (worth.runOn) {
    const [room, lawn] = [roofWater(worth, garden.held, area), c.first.at(i, RUN_ON)];
    captured = withRunOn(captured, roofWater(worth, worth.storm, area), room, lawn);
    out.lawn = Math.min(lawn, room - captured);
  }
  if (!Number.isNaN(shed)) captured = Math.min(captured, shed);
  out.captured = captured;
  out.kept = captured * c.first.at(i, DRAIN_REACH);
}

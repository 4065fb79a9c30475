// Sizes gardens anew at the places that the run kept, for another capture depth: the arithmetic of the run, step by step.

/** Half up to a step told as steps in one, as everywhere in the run. */
function rounded(value, stepsInOne) {
  return Math.floor(value * stepsInOne + 0.5) / stepsInOne;
}

/** The columns of the candidates that limits depend on, as numbers, missing ones NaN. */
function gardensOfRun() {
  if (!gardensOfRun.made) {
    const named = ["ponding_area_m2", "footprint_m2", "capture_depth_mm", "kept_of_lot_share", "lip_low_m", "lip_m", "fall_m", "fall_margin_m", "drop_m"];
    gardensOfRun.made = Object.fromEntries(named.map((name) => [name, tables.candidates.numbers(name)]));
  }
  return gardensOfRun.made;
}

/** Rules of single lots instead of the area's, by the lot's number: {rule: value}. */
function ownRules() {
  if (!ownRules.found) {
    ownRules.found = new Map();
    (tables.lots.columns.own_rules || []).forEach((words, lot) => {
      if (!words) return;
      const given = words.split("; ").map((part) => part.split(" ")).map(([name, value]) => [name, Number(value)]);
      ownRules.found.set(lot, Object.fromEntries(given));
    });
  }
  return ownRules.found;
}

/** A rule by name as it holds for a lot. */
function ruleFor(rule, lot) {
  const own = ownRules().get(lot);
  return own ? (name) => (name in own ? own[name] : rule(name)) : rule;
}

/** What a function makes of the rules of each candidate's lot: made once for all lots without rules of their own. */
function forCandidates(rule, makeOf) {
  const lot = tables.candidates.numbers("lot");
  const usual = makeOf(rule);
  if (!ownRules().size) return () => usual;
  const sets = [usual];
  const setOf = new Int32Array(lotCount);
  for (const at of ownRules().keys()) setOf[at] = sets.push(makeOf(ruleFor(rule, at))) - 1;
  return (i) => sets[setOf[lot[i]]];
}

/** What the size of a garden depends on. */
function sizing(rule) {
  return {
    wanted: Math.max(rule("capture_depth_mm"), rule("capture_depth_least_mm")),
    perMm: rule("runoff_coefficient") / (rule("ponding_depth_mm") + rule("void_fraction") * rule("bed_depth_mm")),
    cut: rule("cut_most_m"), halfWidth: 0.5 * rule("width_least_m"), leastArea: rule("ponding_area_least_m2"),
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

/** The gardens under changed rules; those of the run where their depth does not change. */
function gardensUnder(rule) {
  const was = gardensOfRun();
  const [runSizing, nowSizing] = [forCandidates(runRule, sizing), forCandidates(rule, sizing)];
  const c = (name) => tables.candidates.numbers(name);
  const [area, room, aspect, ground, error] = [c("draining_area_m2"), c("room_m2"), c("aspect"), c("ground_m"), c("fall_error_m")];
  const n = tables.candidates.rows;
  const out = Object.fromEntries(Object.keys(was).map((name) => [name, new Float64Array(n)]));
  for (let i = 0; i < n; i++) {
    const before = runSizing(i).wanted;
    const rules = nowSizing(i);
    const {wanted, perMm, cut} = rules;
    if (before === wanted) {
      for (const name in out) out[name][i] = was[name][i];
      continue;
    }
    const now = was.ponding_area_m2[i];
    const needed = perMm * wanted * area[i];
    const least = Math.max(rules.leastArea, Math.PI * (rules.halfWidth * rules.halfWidth) * aspect[i]);
    const top = was.lip_low_m[i] + was.fall_margin_m[i];
    const dropNow = was.drop_m[i];
    let size = Math.min(Math.max(needed, least), room[i]);
    let drop = dropNow * Math.sqrt(size / now);
    let klass = fallClass(top - lowestLip(ground[i], drop, cut), error[i]);
    if (now > size && klass > fallClass(top - lowestLip(ground[i], dropNow, cut), error[i])) {
      size = now; // it would lose its fall by being smaller
      drop = dropNow * Math.sqrt(size / now);
      klass = fallClass(top - lowestLip(ground[i], drop, cut), error[i]);
    }
    if (klass === 2) {
      const stretch = cut / (2.0 * drop);
      const larger = Math.min(Math.max(size * (stretch * stretch), size), room[i]);
      const reach = dropNow * Math.sqrt(larger / now);
      if (fallClass(top - lowestLip(ground[i], reach, cut), error[i]) < 2) [size, drop] = [larger, reach];
    }
    const low = lowestLip(ground[i], drop, cut);
    const high = Math.max(ground[i] - drop + rules.bermMost - rules.freeboard, low);
    const lip = Math.min(Math.max(Math.min(ground[i], top), low), high);
    const shareBefore = Math.min(now / Math.max(perMm * before * area[i], 1e-9), 1.0);
    const shareAfter = Math.min(size / Math.max(needed, 1e-9), 1.0);
    out.ponding_area_m2[i] = rounded(size, 10);
    out.footprint_m2[i] = rounded(footprintOf(size, aspect[i], rules.ring), 10);
    out.capture_depth_mm[i] = rounded(size / (perMm * area[i]), 10);
    out.kept_of_lot_share[i] = rounded(Math.min(was.kept_of_lot_share[i] / shareBefore, 1.0) * shareAfter, 1000);
    out.lip_low_m[i] = rounded(low, 1000);
    out.lip_m[i] = rounded(lip, 1000);
    out.fall_m[i] = rounded(was.fall_m[i] + was.lip_m[i] - lip, 1000);
    out.fall_margin_m[i] = rounded(top - low, 1000);
    out.drop_m[i] = rounded(drop, 1000);
  }
  return out;
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

// Judges the lots anew while a limit is changed: which kept candidate is each lot's spot, how it stands, what it keeps.
// Whole columns of plain numbers, filled lot by lot: a large area has a million candidates.

const VERDICT_OF = ["approach", "approach", "test soil first", "look closer", "ruled out"];

let judged = null; // what a change of limits gave; null while they are the run's

/** Hundredths of a value, half up; -1 where missing. */
function cents(value) {
  return Number.isNaN(value) ? -1 : Math.floor(value * 100 + 0.5);
}

/** The place that a candidate comes to in the order of its lot's, and its garden; what cannot come before `first` is not sized,
 *  and told as Infinity. */
function placeUnder(i, c, rules, first, garden) {
  const limits = rules.limits;
  const slope = c.slope[i];
  let standing = weighed(weighed(c.standing[i], slopeWeight(slope, limits)), slopeLookWeight(slope, limits));
  if (placeOf(standing, keptMost(i, c, rules.was, rules.now), Infinity, c.rest[i]) >= first) return Infinity;
  sizeGarden(i, c, rules.was, rules.now, garden);
  standing = weighed(standing, fallWeight(garden.margin, c.error[i]));
  standing = weighed(standing, heldWeight(garden.held, c.most[i], limits.least));
  if (!Number.isNaN(c.water_table[i]) || !Number.isNaN(c.bedrock[i])) {
    finishGarden(i, c, rules.was, rules.now, garden);
    const bottom = bottomOf(c.ground[i], garden.lip, limits);
    standing = weighed(standing, depthWeight(c.water_table[i], bottom, limits.water_table));
    standing = weighed(standing, depthWeight(c.bedrock[i], bottom, limits.bedrock));
  }
  return placeOf(standing, garden.kept, garden.margin, c.rest[i]);
}

const ALL = -1; // every number of a candidate

/** The first in order of a lot's candidates whose number is among the bits of `numbers`, and whose place comes before `place`;
 *  -1 where none does. What it found is left in `found`: the place, and the garden there. */
function firstInOrder(lot, c, rules, place, numbers, found) {
  const end = c.start[lot + 1];
  let first = -1;
  let garden = found.garden;
  let other = found.other;
  for (let at = c.start[lot]; at < end; at++) {
    const i = c.rows[at];
    if (c.firstPlace[i] >= place) break; // nor can any that follows come before it
    if (numbers !== ALL && !((numbers >> c.number[i]) & 1)) continue;
    const here = placeUnder(i, c, rules, place, other);
    if (here >= place) continue;
    const better = other;
    other = garden;
    garden = better;
    first = i;
    place = here;
  }
  found.place = place;
  found.garden = garden;
  found.other = other;
  return first;
}

/** Count one more reason in. */
function weigh(standing, weight, order, near) {
  if (weight === RULES_OUT && !near) standing.near = 0;
  if (weight > standing.weight) {
    standing.weight = weight;
    standing.code = order;
  } else if (weight === standing.weight && order < standing.code) standing.code = order;
}

/** What decides how a lot's first candidate stands, with its garden whole: heaviest severity, the first reason of it, all that
 *  rule out near. */
function tellStanding(i, c, rules, orders, garden, standing) {
  const limits = rules.limits;
  const [slope, error, most] = [c.slope[i], c.error[i], c.most[i]];
  standing.weight = c.standing[i] >> COUNT_BITS;
  standing.code = c.code[i];
  standing.near = c.near[i];
  weigh(standing, slopeWeight(slope, limits), orders.slope, slopeNear(slope, limits));
  weigh(standing, slopeLookWeight(slope, limits), orders.slope_look, false);
  weigh(standing, fallWeight(garden.margin, error), orders.fall, fallNear(garden.margin, error));
  weigh(standing, heldWeight(garden.held, most, limits.least), orders.under_minimum, heldNear(garden.held, most, limits.least));
  const bottom = bottomOf(c.ground[i], garden.lip, limits);
  weigh(standing, depthWeight(c.water_table[i], bottom, limits.water_table), orders.water_table, depthNear(c.water_table[i], bottom));
  weigh(standing, depthWeight(c.bedrock[i], bottom, limits.bedrock), orders.bedrock, depthNear(c.bedrock[i], bottom));
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
function setWater(lot, i, garden, second, secondGarden, c, worth, shed, out) {
  const water = waterOf(i, c, worth, shed, garden);
  if (second >= 0) {
    const more = waterOf(second, c, worth, shed, secondGarden);
    for (const name of ["captured", "kept", "lawn"]) water[name] += Number.isNaN(more[name]) ? 0 : more[name];
    for (const name of ["captured", "kept"]) water[name] = Math.min(water[name], shed);
  }
  if (c.runOn) out.lawn[lot] = cents(water.lawn);
  out.captured[lot] = cents(water.captured);
  out.kept[lot] = cents(water.kept);
}

/** What each criterion is worth on a lot, from its spot: water kept, soil, lead, slope, room, side. */
function setWorth(lot, i, c, worth, garden, out) {
  const {water, soil, lead, flat, room, side} = out.byName;
  const spare = straightLine(rounded(garden.fall, 100) - rounded(c.needed[i], 100), 0.0, worth.value_fall_full_m);
  water[lot] = straightLine(out.kept[lot] < 0 ? NaN : out.kept[lot] / 100, 0.0, worth.value_water_full_m3);
  soil[lot] = c.soilWorth[i];
  lead[lot] = Math.floor((spare + c.runWorth[i]) / 2);
  flat[lot] = straightLine(c.slope[i], worth.slope_limit_pct, 0.0);
  room[lot] = straightLine(c.room[i] / garden.ponding, 1.0, worth.value_room_full_x);
  side[lot] = c.sideWorth[i];
}

/** A lot without a garden: no water, no worth. */
function setNothing(lot, c, out) {
  out.captured[lot] = out.kept[lot] = 0;
  if (c.runOn) out.lawn[lot] = 0;
  const {water, soil, lead, flat, room, side} = out.byName;
  water[lot] = soil[lot] = lead[lot] = flat[lot] = room[lot] = side[lot] = -1;
}

const CRITERIA_HERE = {water: "value_water_kept", soil: "value_soil", lead: "value_lead", flat: "value_slope", room: "value_room", side: "value_side"};

/** Columns for the lots' new figures, those of the run to begin with: each judging fills in the lots that have a candidate, so
 *  they are made once. */
function newLots() {
  if (newLots.made) return newLots.made;
  const run = runLots();
  const values = run.values.map((column) => column.slice());
  newLots.made = {
    first: new Int32Array(lotCount).fill(-1), out: new Uint8Array(lotCount), weight: run.weight.slice(), code: run.code.slice(),
    near: run.near.slice(), kept: run.kept.slice(), captured: run.captured.slice(), lawn: judgeColumns().runOn ? run.lawn.slice() : run.lawn, values,
    byName: Object.fromEntries(Object.entries(CRITERIA_HERE).map(([name, column]) => [name, values[data.criteria.findIndex((criterion) => criterion.column === column)]])),
  };
  return newLots.made;
}

/** Judge every lot under changed limits. */
function judgeUnder(rule) {
  const [c, own, shed, out] = [judgeColumns(), ownOfLots(), tables.lots.steps("storm_runoff_m3"), newLots()];
  const [worth, chanceCode] = [worthOf(rule), data.codes.indexOf("chance")];
  const orders = Object.fromEntries(["fall", "slope", "slope_look", "under_minimum", "water_table", "bedrock"].map((code) => [code, data.codes.indexOf(code)]));
  const rulesOf = rulesByLot(rule);
  const [found, more] = [0, 1].map(() => ({place: 0.5, garden: noGarden(), other: noGarden()}));
  const standing = {weight: 0, code: 0, near: 0};
  const [anyPlace, ruledOut] = [standsAs(RULES_OUT + 1, 0) * PLACES, standsAs(RULES_OUT, 0) * PLACES];
  for (let lot = 0; lot < lotCount; lot++) {
    const rules = rulesOf(lot);
    const first = firstInOrder(lot, c, rules, anyPlace, ALL, found);
    if (first < 0) continue;
    finishGarden(first, c, rules.was, rules.now, found.garden);
    tellStanding(first, c, rules, orders, found.garden, standing);
    setVerdict(lot, standing, own, chanceCode, out);
    out.first[lot] = first;
    out.out[lot] = standing.weight === RULES_OUT ? 1 : 0;
    if (standing.weight === RULES_OUT) {
      setNothing(lot, c, out);
      continue;
    }
    const second = c.beside && c.beside[first] ? firstInOrder(lot, c, rules, ruledOut, c.beside[first], more) : -1;
    setWater(lot, first, found.garden, second, more.garden, c, worth, shed.at(lot), out);
    setWorth(lot, first, c, worth, found.garden, out);
  }
  return {...out, rulesOf};
}

/** The rules that a lot is judged by: made once for all lots without rules of their own. */
function rulesByLot(rule) {
  const made = (changed, run) => ({was: sizing(run), now: sizing(changed), limits: limitsOf(changed)});
  const sets = [made(rule, runRule), ...Array.from(ownRules().keys(), (lot) => made(ruleFor(rule, lot), ruleFor(runRule, lot)))];
  const number = ownRuleNumbers();
  return (lot) => sets[number[lot]];
}

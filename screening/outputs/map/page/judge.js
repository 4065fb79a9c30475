// Judges the lots anew while a limit is changed: which kept candidate is each lot's spot, how it stands, what it keeps.
// Whole columns of plain numbers, filled lot by lot: a large area has a million candidates.

const VERDICT_OF = ["approach", "approach", "test soil first", "look closer", "ruled out"];

let judged = null; // what a change of limits gave; null while they are the run's

/** Hundredths of a value, half up; -1 where missing. */
function cents(value) {
  return Number.isNaN(value) ? -1 : Math.floor(value * 100 + 0.5);
}

/** Size the garden at a candidate and tell its place in the order of its lot's candidates; false where it comes no sooner than
 *  what comes first so far. */
function comesFirst(i, c, rules, so, garden) {
  const {of, per} = c.compared;
  const at = i * COMPARED_WIDE;
  const limits = rules.limits;
  const slope = told(of[at + SLOPE], per[SLOPE]);
  let standing = of[at + STANDING] & (2 ** CODE_FROM - 1);
  standing = weighed(weighed(standing, slopeWeight(slope, limits)), slopeLookWeight(slope, limits));
  if (standing >= LOOK_CLOSER << COUNT_BITS && standing * PLACES >= so.place) return false;
  sizeGarden(i, c, rules.was, rules.now, garden);
  standing = weighed(standing, fallWeight(garden.margin, told(of[at + ERROR], per[ERROR])));
  standing = weighed(standing, heldWeight(garden.held, told(of[at + MOST], per[MOST]), limits.least));
  if (of[at + WATER_TABLE] !== MISSING || of[at + BEDROCK] !== MISSING) {
    finishGarden(i, c, rules.was, rules.now, garden);
    const bottom = bottomOf(told(of[at + GROUND], per[GROUND]), garden.lip, limits);
    standing = weighed(standing, depthWeight(told(of[at + WATER_TABLE], per[WATER_TABLE]), bottom, limits.water_table));
    standing = weighed(standing, depthWeight(told(of[at + BEDROCK], per[BEDROCK]), bottom, limits.bedrock));
  }
  garden.place = placeOf(standing, garden.kept, garden.margin, of[at + REST]);
  return garden.place < so.place;
}

const ALL = -1; // every number of a candidate

/** The first in order of a lot's candidates whose number is among the bits of `numbers`, and that stands no worse than `most`; -1
 *  where none does. Its garden is left in `found.first`. */
function firstInOrder(lot, c, rules, most, numbers, found) {
  const {start, rows, firstPlace} = c;
  const end = start[lot + 1];
  let first = -1;
  found.first.place = ((most + 1) << COUNT_BITS) * PLACES;
  for (let at = start[lot]; at < end; at++) {
    const i = rows[at];
    const so = found.first;
    if (firstPlace[i] >= so.place) break; // nor can any that follows come sooner
    if (numbers !== ALL && !((numbers >> (c.compared.of[i * COMPARED_WIDE + REST] & 15)) & 1)) continue;
    if (!comesFirst(i, c, rules, so, found.other)) continue;
    found.first = found.other;
    found.other = so;
    first = i;
  }
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
  const {of, per} = c.compared;
  const at = i * COMPARED_WIDE;
  const limits = rules.limits;
  const slope = told(of[at + SLOPE], per[SLOPE]);
  const error = told(of[at + ERROR], per[ERROR]);
  const most = told(of[at + MOST], per[MOST]);
  const fixed = of[at + STANDING];
  standing.weight = (fixed & (2 ** CODE_FROM - 1)) >> COUNT_BITS;
  standing.code = (fixed >> CODE_FROM) & (2 ** (NEAR_FROM - CODE_FROM) - 1);
  standing.near = fixed >> NEAR_FROM;
  weigh(standing, slopeWeight(slope, limits), orders.slope, slopeNear(slope, limits));
  weigh(standing, slopeLookWeight(slope, limits), orders.slope_look, false);
  weigh(standing, fallWeight(garden.margin, error), orders.fall, fallNear(garden.margin, error));
  weigh(standing, heldWeight(garden.held, most, limits.least), orders.under_minimum, heldNear(garden.held, most, limits.least));
  if (of[at + WATER_TABLE] === MISSING && of[at + BEDROCK] === MISSING) return;
  const [water, stone] = [told(of[at + WATER_TABLE], per[WATER_TABLE]), told(of[at + BEDROCK], per[BEDROCK])];
  const bottom = bottomOf(told(of[at + GROUND], per[GROUND]), garden.lip, limits);
  weigh(standing, depthWeight(water, bottom, limits.water_table), orders.water_table, depthNear(water, bottom));
  weigh(standing, depthWeight(stone, bottom, limits.bedrock), orders.bedrock, depthNear(stone, bottom));
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
function setWater(lot, i, second, c, worth, shed, desk, out) {
  const {water, more} = desk;
  waterOf(i, c, worth, shed, desk.found.first, water);
  if (second >= 0) {
    waterOf(second, c, worth, shed, desk.foundMore.first, more);
    for (const name of ["captured", "kept", "lawn"]) water[name] += Number.isNaN(more[name]) ? 0 : more[name];
    for (const name of ["captured", "kept"]) water[name] = Math.min(water[name], shed);
  }
  if (worth.runOn) out.lawn[lot] = cents(water.lawn);
  out.captured[lot] = cents(water.captured);
  out.kept[lot] = cents(water.kept);
}

/** What each criterion is worth on a lot, from its spot: water kept, soil, lead, slope, room, side. */
function setWorth(lot, i, c, worth, garden, out) {
  const {of, per} = c.first;
  const at = i * FIRST_WIDE;
  const spare = straightLine(rounded(garden.fall, 100) - rounded(told(of[at + NEEDED], per[NEEDED]), 100), 0.0, worth.fallFull);
  out.water[lot] = straightLine(out.kept[lot] < 0 ? NaN : out.kept[lot] / 100, 0.0, worth.waterFull);
  out.soil[lot] = of[at + SOIL_WORTH];
  out.lead[lot] = Math.floor((spare + of[at + RUN_WORTH]) / 2);
  out.flat[lot] = straightLine(c.compared.at(i, SLOPE), worth.slopeNone, 0.0);
  out.room[lot] = straightLine(c.compared.at(i, ROOM) / garden.ponding, 1.0, worth.roomFull);
  out.side[lot] = of[at + SIDE_WORTH];
}

/** A lot without a garden: no water, no worth. */
function setNothing(lot, worth, out) {
  out.captured[lot] = out.kept[lot] = 0;
  if (worth.runOn) out.lawn[lot] = 0;
  out.water[lot] = out.soil[lot] = out.lead[lot] = out.flat[lot] = out.room[lot] = out.side[lot] = -1;
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
    near: run.near.slice(), kept: run.kept.slice(), captured: run.captured.slice(), lawn: run.lawn.slice(), values,
    ...Object.fromEntries(Object.entries(CRITERIA_HERE).map(([name, column]) => [name, values[data.criteria.findIndex((criterion) => criterion.column === column)]])),
  };
  return newLots.made;
}

/** What judging works with, lot after lot: the gardens compared, how the first stands, its water. */
function newDesk() {
  const gardens = () => ({first: noGarden(), other: noGarden()});
  const water = () => ({captured: 0.5, kept: 0.5, lawn: 0.5});
  const order = (code) => data.codes.indexOf(code);
  return {
    found: gardens(), foundMore: gardens(), standing: {weight: 0, code: 0, near: 0}, water: water(), more: water(), chance: order("chance"),
    orders: {fall: order("fall"), slope: order("slope"), slope_look: order("slope_look"), under_minimum: order("under_minimum"), water_table: order("water_table"), bedrock: order("bedrock")},
  };
}

/** Judge a lot: its spot, how it stands, what it keeps and is worth. */
function judgeLot(lot, c, rules, own, worth, desk, out) {
  const first = firstInOrder(lot, c, rules, RULES_OUT, ALL, desk.found);
  if (first < 0) return;
  const {standing, found: {first: garden}} = desk;
  finishGarden(first, c, rules.was, rules.now, garden);
  tellStanding(first, c, rules, desk.orders, garden, standing);
  setVerdict(lot, standing, own, desk.chance, out);
  out.first[lot] = first;
  out.out[lot] = standing.weight === RULES_OUT ? 1 : 0;
  if (standing.weight === RULES_OUT) {
    setNothing(lot, worth, out);
    return;
  }
  const beside = c.gardens ? c.first.of[first * FIRST_WIDE + BESIDE] : 0;
  const second = beside > 0 ? firstInOrder(lot, c, rules, LOOK_CLOSER, beside, desk.foundMore) : -1;
  setWater(lot, first, second, c, worth, own.shed.at(lot), desk, out);
  setWorth(lot, first, c, worth, garden, out);
}

/** Judge every lot under changed limits. */
function judgeUnder(rule) {
  const [c, own, out, worth, desk, rulesOf] = [judgeColumns(), ownOfLots(), newLots(), worthOf(rule), newDesk(), rulesByLot(rule)];
  for (let lot = 0; lot < lotCount; lot++) judgeLot(lot, c, rulesOf(lot), own, worth, desk, out);
  return {...out, rulesOf};
}

/** The rules that a lot is judged by: made once for all lots without rules of their own. */
function rulesByLot(rule) {
  const made = (changed, run) => ({was: sizing(run), now: sizing(changed), limits: limitsOf(changed)});
  const sets = [made(rule, runRule), ...Array.from(ownRules().keys(), (lot) => made(ruleFor(rule, lot), ruleFor(runRule, lot)))];
  const number = ownRuleNumbers();
  return (lot) => sets[number[lot]];
}

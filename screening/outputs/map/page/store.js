// What the page holds and what the person has chosen. Views listen and draw themselves anew.

let data = null;
let tables = null;
let lotCount = 0;
const byLot = {};

const VERDICTS = ["approach", "test soil first", "look closer", "ruled out"];
const VERDICT_CLASS = {"approach": "approach", "test soil first": "test", "look closer": "look", "ruled out": "out"};
const VERDICT_MEANS = {
  "approach": "Maps show a place for a garden and nothing against it: call.",
  "test soil first": "There is a place, but the mapped soil may not take the water.",
  "look closer": "There may be a place; something here a map cannot settle.",
  "ruled out": "No garden place found from maps.",
};
const STEP_WORDS = {
  "desk": "look at records", "call": "call the household", "level": "take levels", "soil test": "test the soil", "visit": "visit",
};

const chosen = {
  lot: null,
  colourBy: "suitability",
  filter: {text: ""},
  sort: {by: "rank", down: false},
  layers: {},
};

const listeners = {};

/** Call a function whenever one of the named things changes. */
function when(names, listener) {
  for (const name of names.split(" ")) (listeners[name] = listeners[name] || []).push(listener);
}

function changed(name) {
  for (const listener of listeners[name] || []) listener();
}

let breaks = []; // scores at which a class begins, from the second on
let tried = {}; // columns of the lots table under rules tried out, by name
let triedStreets = {}; // columns of the streets table under rules tried out, by name

/** Columns of the lots that are its spot's: the candidate's column, and the steps in one that the lots are told in. */
const FROM_SPOT = {
  hsg_spot: ["hsg"], ksat_spot_um_s: ["ksat_um_s", 100], ksat_source: ["ksat_source"], water_table_m: ["water_table_m", 100],
  bedrock_m: ["bedrock_m", 100], slope_spot_pct: ["slope_pct", 10], spot_side: ["side"], ponding_area_m2: ["ponding_area_m2", 10], footprint_m2: ["footprint_m2", 10],
  room_m2: ["room_m2", 10], draining_area_m2: ["draining_area_m2", 10], capture_depth_mm: ["capture_depth_mm", 10],
  lead: ["lead"], fall_m: ["fall_m", 100], fall_needed_m: ["fall_needed_m", 100], run_m: ["run_m", 10],
  run_on_m2: ["run_on_m2", 1], run_on_curve_number: ["run_on_curve_number"], storm_run_on_m3: ["run_on_m3", 1000], overflow_to: ["overflow_to"],
};

const OF_GARDEN = ["ponding_area_m2", "footprint_m2", "capture_depth_mm", "fall_m"];

/** A value of a lot's spot where limits are tried out; undefined where the run's stands. */
function spotValue(name, lot) {
  const i = judged.first[lot];
  if (i < 0) return undefined;
  const out = judged.out[lot] === 1;
  const c = tables.candidates.columns;
  if (name === "hsg_source" && c.hsg_source) {
    const first = rowsOf("soil_lots", lot)[0];
    return out ? (first === undefined ? null : tables.soil_lots.columns.source[first]) : c.hsg_source[i];
  }
  if (name === "eligible") return out ? null : gardenTried("capture_depth_mm", i) >= ruleFor(ruleNow, lot)("capture_depth_least_mm") - 1e-6 && candidateFigure("draining_area_m2", i) <= ruleFor(runRule, lot)("draining_area_most_m2") + 1e-6;
  if (!(name in FROM_SPOT)) return undefined;
  if (out) return null;
  const [column, steps] = FROM_SPOT[name];
  if (!(column in c)) return undefined;
  if (!steps) return c[column][i];
  const value = OF_GARDEN.includes(column) ? gardenTried(column, i) : candidateFigure(column, i);
  return Number.isNaN(value) ? null : rounded(value, steps);
}

/** A value of the lots table, under the rules tried out. */
function lotValue(name, lot) {
  const ofSpot = judged && !tried[name] ? spotValue(name, lot) : undefined;
  if (ofSpot !== undefined) return ofSpot;
  const column = tried[name] || tables.lots.columns[name];
  return column ? column.at(lot) : null;
}

/** A column of the streets table, under the rules tried out. */
function streetColumn(name) {
  return triedStreets[name] || tables.streets.columns[name];
}

/** Whether a candidate is its lot's spot, under the rules tried out. */
function isSpot(row) {
  if (!judged) return tables.candidates.columns.chosen[row] === true;
  const lot = candidateFigures().lot[row];
  return judged.first[lot] === row && judged.out[lot] === 0;
}

function runValue(name, lot) {
  const column = tables.lots.columns[name];
  return column ? column.at(lot) : null;
}

/** Rows of a table that are of a lot; none when the page has no such table. */
function rowsOf(table, lot) {
  return byLot[table] ? byLot[table][lot] : [];
}

/** The lot's name for people: its address, or its id. */
function lotName(lot) {
  return lotValue("address", lot) || `Lot ${lotValue("lot_id", lot)}`;
}

/** The score as shown: 0 to 100, halves up. */
function shownScore(lot) {
  const score = lotValue("score", lot);
  return score === null ? null : Math.floor(score / 100 + 0.5);
}

/** Suitability class 1 (lowest) to 5, 0 when the lot has no score. */
function classOf(lot) {
  const score = lotValue("score", lot);
  if (score === null) return 0;
  let found = 1;
  for (const edge of breaks) if (score >= edge) found += 1;
  return found;
}

/** What to do next, in words; null when there is nothing to do. */
function stepWords(lot) {
  const step = lotValue("next_step", lot);
  return step === null ? null : STEP_WORDS[step] || step;
}

/** A name's first letter small, for the middle of a sentence. */
function closing(text) {
  return text.charAt(0).toLowerCase() + text.slice(1);
}

/** A sentence's first letter large. */
function opening(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

function streetName(street) {
  return street === null || street === "" ? "Street not known" : street;
}

function select(lot, how) {
  chosen.lot = lot;
  chosen.how = how || "list";
  changed("lot");
}

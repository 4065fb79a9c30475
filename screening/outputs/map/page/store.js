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
let tried = {}; // columns of the lots table under weights tried out, by name

/** A value of the lots table, under the weights tried out. */
function lotValue(name, lot) {
  const column = tried[name] || tables.lots.columns[name];
  return column ? column[lot] : null;
}

function runValue(name, lot) {
  const column = tables.lots.columns[name];
  return column ? column[lot] : null;
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

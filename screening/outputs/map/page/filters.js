// Which lots the person looks for.

let matching = null; // 1 for each lot that matches, null when nothing is filtered

function plain(text) {
  return String(text).toLowerCase().normalize("NFKD").replace(/[\u0300-\u036f]/g, "");
}

/** Everything a search looks through, made once. */
function searchText(lot) {
  if (!searchText.made) {
    searchText.made = Array.from(allLots(), (at) =>
      plain(["lot_id", "shared_with", "address", "street"].map((column) => lotValue(column, at)).filter((part) => part).join(" ")));
  }
  return searchText.made[lot];
}

const FILTERS = [
  {key: "verdict", column: "verdict", name: "Verdict", words: opening, values: () => VERDICTS},
  {key: "street", column: "street", name: "Street", words: streetName, values: () => distinct("street")},
  {key: "step", column: "next_step", name: "Next step", words: (value) => opening(STEP_WORDS[value] || value), values: () => distinct("next_step")},
  {key: "soil", column: "hsg", name: "Soil group", words: (value) => value, values: () => distinct("hsg")},
  {key: "zone", column: "zone", name: "Zone", words: (value) => value, values: () => distinct("zone")},
  {key: "inlet", column: "inlet", name: "Inlet", words: (value) => value || "None met", values: inletChoices},
  {key: "visit", name: "First visits", words: () => "Among the first visits", values: () => ["yes"], of: (lot) => (visited[lot] ? "yes" : "no")},
  {key: "ticked", name: "Your ticks", words: () => "To be visited", values: () => ["yes"], of: (lot) => (isTicked(lot) ? "yes" : "no")},
  {key: "chance", name: "Chance of a garden", words: (value) => `At least ${value}%`, values: chanceSteps, of: (lot) => lotValue("chance_feasible", lot), least: true},
  {key: "limit", column: "deciding_limit", name: "Deciding limit", words: (value) => data.reasons[value]?.head || value, values: () => distinct("deciding_limit")},
];

/** Values of a column that occur, in order; one for missing when it occurs. */
function distinct(column) {
  const values = tables.lots.columns[column]?.distinct() || [];
  const found = values.filter((value) => value !== null).sort((a, b) => collator.compare(a, b));
  return column === "street" && values.includes(null) ? [...found, ""] : found;
}

function chanceSteps() {
  const known = (tables.lots.columns.chance_feasible?.distinct() || []).some((value) => value !== null);
  return known ? ["90", "70", "50"] : [];
}

function passes(filter, wanted, lot) {
  const value = filter.of ? filter.of(lot) : lotValue(filter.column, lot) ?? "";
  if (filter.least) return value !== null && 100 * value >= Number(wanted);
  return value === (wanted === "(none)" ? "" : wanted);
}

function applyFilter() {
  const wanted = chosen.filter;
  const words = plain(wanted.text).split(/\s+/).filter((word) => word);
  const active = FILTERS.filter((filter) => wanted[filter.key] !== "");
  if (!words.length && !active.length) {
    matching = null;
    return;
  }
  matching = new Uint8Array(lotCount);
  for (let lot = 0; lot < lotCount; lot++) {
    const text = words.length ? searchText(lot) : "";
    matching[lot] = words.every((word) => text.includes(word)) &&
      active.every((filter) => passes(filter, wanted[filter.key], lot)) ? 1 : 0;
  }
}

function setFilter(changes) {
  Object.assign(chosen.filter, changes);
  applyFilter();
  changed("filter");
}

function clearFilter() {
  setFilter(Object.fromEntries(["text", ...FILTERS.map((filter) => filter.key)].map((key) => [key, ""])));
}

/** What the list can be sorted by: a whole number from 0 for each lot. */
const SORTS = {
  rank: {name: "Rank"},
  name: {name: "Lot", keys: () => nameOrder()},
  score: {name: "Score", keys: () => Int32Array.from({length: lotCount}, (_, lot) => (lotValue("score", lot) ?? -1) + 1), downFirst: true},
  kept: {name: "Kept", keys: () => lotsNow.kept.map((cents) => cents + 1), downFirst: true},
};

/** The lots in the order of rank, those without one behind; the other way round when `down`. */
function byRank(down) {
  const ranked = new Uint8Array(lotCount);
  for (let at = 0; at < order.length; at++) ranked[order[at]] = 1;
  const others = allLots().filter((lot) => !ranked[lot]);
  const out = new Int32Array(lotCount);
  out.set(down ? order.slice().reverse() : order, down ? others.length : 0);
  out.set(others, down ? 0 : order.length);
  return out;
}

/** Lots that match, in the chosen order; equal ones in the order of the table. */
function orderedLots() {
  const {by, down} = chosen.sort;
  const shown = (lots) => (matching ? lots.filter((lot) => matching[lot]) : lots);
  if (by === "rank") return shown(byRank(down));
  const keys = SORTS[by].keys();
  if (down) {
    const most = keys.reduce((a, b) => Math.max(a, b), 0);
    for (let lot = 0; lot < lotCount; lot++) keys[lot] = most - keys[lot];
  }
  return sortedBy(shown(allLots()), keys);
}

const collator = new Intl.Collator("en", {numeric: true});

/** Each lot's place when sorted by name, found once. */
function nameOrder() {
  if (!nameOrder.found) {
    const names = Array.from(allLots(), (lot) => plain(lotName(lot)));
    nameOrder.found = new Int32Array(lotCount);
    allLots().slice().sort((a, b) => collator.compare(names[a], names[b]) || a - b).forEach((lot, at) => (nameOrder.found[lot] = at));
  }
  return nameOrder.found.slice();
}

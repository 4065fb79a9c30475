// What is said of a lot in numbers: each fact a term, a value in the reader's units, and where it comes from.

const SOURCES = {
  "given": "given", "traced": "traced down the ground", "guessed": "guessed", "survey": "soil survey", "derived": "derived from the survey's layers",
  "field": "field test", "test": "field test", "group": "usual for the group", "none": "no source",
};
const LEAD_WAYS = {"surface": "over the ground", "shallow": "in a shallow pipe", "buried": "in a buried pipe"};
const LEADS = {"surface": "over the ground", "shallow": "shallow pipe", "buried": "buried pipe"};

/** Kinds of the leads to a lot's spot, one for each lead; where none is drawn, the kind that the lot has. */
function leadsOf(lot) {
  const found = rowsOf("leads", lot).filter((row) => ofSpot("leads", row)).map((row) => tables.leads.columns.lead[row]);
  const own = lotValue("lead", lot);
  return found.length ? found : own ? [own] : [];
}

/** Words of the leads to a lot's spot, each kind once, from the surface down. */
function leadWords(lot, words, between) {
  const found = leadsOf(lot);
  return [...new Set([...Object.keys(words).filter((kind) => found.includes(kind)), ...found])].map((kind) => words[kind] || kind).join(between);
}

function num(name, lot, decimals) {
  const column = tables.lots.described[name];
  return column ? amount(lotValue(name, lot), column.unit, decimals) : null;
}

function sourceOf(name, lot) {
  const value = lotValue(name, lot);
  return value === null ? null : SOURCES[value] || value;
}

const SIDES = {"front": "in front", "side": "at the side", "back": "behind the house"};

/** An amount that no line's end parts from its unit. */
function whole(text) {
  return text === null ? null : text.replaceAll(" ", "\u00a0");
}

/** The garden in two sentences. */
function inShort(lot) {
  if (lotValue("ponding_area_m2", lot) === null) return null;
  const led = leadsOf(lot).length ? `, led ${leadsOf(lot).length > 1 ? "at most " : ""}${whole(num("run_m", lot, 1))} ${leadWords(lot, LEAD_WAYS, " and ")}` : "";
  const where = SIDES[lotValue("spot_side", lot)] || "on the lot";
  const storm = whole(amount(data.rules.storm_depth_mm.value, "mm"));
  const kept = whole(num("storm_kept_m3", lot));
  return `A garden of ${whole(num("ponding_area_m2", lot))} ${where} takes the water of ${whole(num("draining_area_m2", lot))} of roof and paving${led}. ` +
    (kept === null ? "" : `In a storm of ${storm} it keeps ${kept} out of the drain.`);
}

/** Value of a rule as it holds for a lot: its own where it has one. */
function ruleOf(name, lot) {
  const own = (lotValue("own_rules", lot) || "").split("; ").find((words) => words.startsWith(`${name} `));
  return own ? Number(own.slice(name.length + 1)) : ruleNow(name);
}

/** The garden at the spot. */
function gardenFacts(lot) {
  const depthWanted = ruleAmount(ruleOf("capture_depth_mm", lot), "mm");
  const eligible = lotValue("eligible", lot);
  return [
    fact("Ponding area", num("ponding_area_m2", lot), `room for ${num("room_m2", lot)}`),
    fact("With its berm", num("footprint_m2", lot)),
    fact("Drains to it", num("draining_area_m2", lot), "roof and paving"),
    fact("Holds", num("capture_depth_mm", lot), `of rain; wanted ${depthWanted}${eligible === false ? "; under the programme's minimum" : ""}`),
    fact(leadsOf(lot).length > 1 ? "Leads" : "Lead", leadWords(lot, LEADS, ", "),
      num("run_m", lot, 1) ? leadsOf(lot).length > 1 ? `${leadsOf(lot).length}, the longest ${num("run_m", lot, 1)}` : `${num("run_m", lot, 1)} long` : null),
    fact("Fall", num("fall_m", lot, 2), `to the lip; ${num("fall_needed_m", lot, 2)} needed`),
    fact("Slope there", num("slope_spot_pct", lot), `limit ${ruleAmount(ruleOf("slope_limit_pct", lot), "%")}, over ${amount(data.rules.slope_scale_m.value, "m", 0)}`),
    fact("Side of the lot", lotValue("spot_side", lot)),
    fact("Soil group there", lotValue("hsg_spot", lot), sourceOf("hsg_source", lot)),
    fact("Soil takes", num("ksat_spot_um_s", lot), [sourceOf("ksat_source", lot), "design value"].filter((part) => part).join(", ")),
    fact("Water table", num("water_table_m", lot), "below ground"),
    fact("Bedrock", num("bedrock_m", lot), "below ground"),
    fact("Overflow goes to", lotValue("overflow_to", lot)),
  ];
}

/** What is said of figures that no rule tried out moves. */
function fromRun() {
  return weights || Object.keys(changes).length ? "from the run" : null;
}

/** What lawn sheds into the garden over its lip. */
function runOnFacts(lot) {
  const number = lotValue("run_on_curve_number", lot);
  return [
    fact("Ground that drains in over the lip", num("run_on_m2", lot, 0), number ? `lawn, curve number ${number}` : null),
    fact("It sheds in the storm", num("storm_run_on_m3", lot), `${num("storm_run_on_held_m3", lot)} of it held, credited to nobody`),
  ];
}

/** The water. */
function waterFacts(lot) {
  const storm = amount(data.rules.storm_depth_mm.value, "mm");
  return [
    fact("Roofs", num("roof_area_m2", lot)),
    fact(`Shed in ${storm} of rain`, num("storm_runoff_m3", lot), "roofs and paving"),
    fact("Captured", num("storm_captured_m3", lot)),
    fact("Kept out of the drain", num("storm_kept_m3", lot)),
    ...(runRule("run_on") ? runOnFacts(lot) : []),
    fact("Shed in a mean year", num("year_runoff_m3", lot), fromRun()),
    fact("Captured in a mean year", num("year_captured_m3", lot), fromRun()),
    fact("Kept out in a mean year", num("year_kept_m3", lot), fromRun()),
    fact("Reaches the drain today", num("drain_reach_share", lot), sourceOf("drain_reach_basis", lot)),
    hasInlets() ? fact("Drains to inlet", lotValue("inlet", lot) ?? "none met", "the most of its roof water, over the ground") : null,
  ];
}

/** The lot itself. */
function lotFacts(lot) {
  const placed = lotValue("downspouts_placed", lot);
  const flow = compass(lotValue("flow_direction_deg", lot));
  return [
    fact("Lot", num("lot_area_m2", lot)),
    fact("Paving", num("paved_area_m2", lot)),
    fact("Open ground", num("open_ground_m2", lot), "where digging is allowed"),
    fact("Downspouts", num("downspouts", lot), placed ? `${placed} placed by the tool: guesses` : "as given"),
    fact("Soil group", lotValue("hsg", lot), num("hsg_share", lot) ? `${num("hsg_share", lot)} of the open ground` : null),
    fact("Mean slope", num("slope_lot_pct", lot), "of the open ground"),
    fact("Ground sheds", flow ? `to the ${flow}` : null),
    fact("Seen by the elevation", num("assessed_share", lot), "of the lot"),
    fact("Chance a garden can be built", num("chance_feasible", lot), fromRun()),
    fact(`Chance to be among the first ${data.rules.visits.value}`, num("chance_in_first", lot), fromRun()),
    fact("Zone", lotValue("zone", lot)),
    fact("Status", lotValue("contact_status", lot)),
  ];
}

const TAKEN_BASIS = {"CP": "common practice", "P": "a published value", "M": "from memory of a handbook", "J": "a judgement of this project"};

/** A rule with its value, in words. */
function ruleWords(name) {
  const rule = data.rules[name];
  if (!rule || typeof rule.value !== "number") return null;
  const now = ruleNow(name);
  const basis = rule.basis.split(",").map((part) => TAKEN_BASIS[part.trim()]).filter((part) => part).join("; ");
  const value = ruleAmount(now, rule.unit);
  return `Rule: ${rule.meaning}, ${value}${now === rule.value ? "" : ", tried out"}${basis ? ` (${basis})` : ""}.`;
}

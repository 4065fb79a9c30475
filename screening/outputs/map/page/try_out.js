// The panel where rules are tried out, what it says of the outcome, and the rules file.

const LIMITS = [
  {rule: "capture_depth_mm", name: "Capture depth", means: "Rain that a garden holds. The programme's minimum comes down with it where it is larger.", steps: {metric: 1, us: 25.4 / 10}},
  {rule: "slope_limit_pct", name: "Slope limit", means: "Slope under the garden that rules out.", steps: {metric: 0.5, us: 0.5}},
];
const COUNTS = [
  {rule: "visits", name: "Visits this season", means: "The first lots of the list.", least: 1},
  {rule: "visits_of_street_most", name: "Most on one street", means: "0: as many as come.", least: 0},
];

function limitWords(rule, value) {
  return ruleAmount(value, data.rules[rule].unit);
}

/** A limit: a slider within its range, and its value in the reader's units. */
function limitRow({rule, name, means, steps}) {
  const id = `limit-${rule}`;
  const [least, most] = data.live_ranges[rule];
  const slide = make("input", {type: "range", id, on: {input: () => setRule(rule, valueAt(Number(slide.value)))}});
  const told = make("output", {for: id, id: `${id}-told`});
  const range = make("small", {id: `${id}-range`});
  slide.setAttribute("aria-describedby", `${id}-range`);
  const step = () => steps[units];
  // the run's own value is always one of the places that the slider stops at
  const valueAt = (place) => Math.min(most, Math.max(least, place === 0 ? runRule(rule) : rounded(runRule(rule) + place * step(), 1000)));
  const draw = () => {
    slide.min = Math.ceil((least - runRule(rule)) / step() - 1e-9);
    slide.max = Math.floor((most - runRule(rule)) / step() + 1e-9);
    slide.step = 1;
    slide.value = Math.round((ruleNow(rule) - runRule(rule)) / step());
    told.textContent = limitWords(rule, ruleNow(rule));
    slide.setAttribute("aria-valuetext", told.textContent);
    range.textContent = `${means} The run: ${limitWords(rule, runRule(rule))}. Can be tried from ${limitWords(rule, least)} to ${limitWords(rule, most)}.`;
  };
  draw();
  when("weights units", draw);
  return make("li", {}, make("label", {for: id}, name), slide, told, range);
}

function countRow({rule, name, means, least}) {
  const id = `limit-${rule}`;
  const box = make("input", {type: "number", id, min: least, max: 100000, step: 1, on: {change: () => {
    setRule(rule, Math.max(least, Math.min(100000, Math.round(Number(box.value) || 0))));
  }}});
  const draw = () => (box.value = ruleNow(rule));
  draw();
  when("weights", draw);
  return make("li", {class: "count-rule"}, make("label", {for: id}, name), box, make("small", {}, `${means} The run: ${runRule(rule)}.`));
}

function weightRow(criterion) {
  const id = `weight-${criterion.rule}`;
  const name = CRITERION_NAMES[criterion.column] || criterion.column;
  const box = make("input", {type: "number", id, min: 0, max: 1000, step: 1, on: {change: () => {
    const value = Math.max(0, Math.min(1000, Math.round(Number(box.value) || 0)));
    box.value = value;
    setWeights({[criterion.rule]: value});
  }}});
  const slide = make("input", {type: "range", min: 0, max: 100, step: 1, "aria-label": `${name}, slider`, on: {input: () => setWeights({[criterion.rule]: Number(slide.value)})}});
  const draw = () => {
    box.value = weightOf(criterion.rule);
    slide.value = Math.min(100, weightOf(criterion.rule));
  };
  draw();
  when("weights", draw);
  return make("li", {}, make("label", {for: id}, name), slide, box,
    make("small", {}, opening(tables.lots.described[criterion.column].meaning.replace("Criterion: ", ""))));
}

function makeTryPanel() {
  return [
    make("p", {class: "lead-in"}, "Try other rules: list, map, verdicts and street totals follow at once. Chances and mean-year figures stay ", make("em", {}, "from the run"), "."),
    make("p", {id: "weights-said", role: "status"}),
    tables.judged ? [
      make("h2", {}, "Limits"),
      make("ul", {class: "weights limits"}, LIMITS.map(limitRow)),
      make("p", {class: "lead-in", id: "beyond", hidden: true}, "Beyond what the run searched for: a new run may find other places."),
    ] : null,
    make("h2", {}, "Visits"),
    make("ul", {class: "weights"}, COUNTS.map(countRow)),
    make("h2", {}, "Weights"),
    make("p", {class: "lead-in"}, "How much each criterion counts in the score."),
    make("ul", {class: "weights"}, data.criteria.map(weightRow)),
    make("div", {class: "button-row"},
      make("button", {type: "button", id: "weights-back", on: {click: backToRun}}, "As in the run"),
      make("button", {type: "button", id: "weights-save", on: {click: saveRules}}, "Save as rules file"),
      make("button", {type: "button", id: "list-save", on: {click: saveList}}, "Save the list (CSV)")),
    make("p", {class: "lead-in"}, "The saved file holds the changed rules; name it in the area file under [rules], and the next run uses them."),
  ];
}

/** Say what is changed, and what that does to verdicts and to the first visits. */
function drawTrySaid() {
  const names = [...LIMITS, ...COUNTS].filter((one) => one.rule in changes).map((one) => `${one.name.toLowerCase()} ${limitWords(one.rule, changes[one.rule])}`);
  if (weights) names.push("weights");
  find("tried").hidden = !names.length;
  find("tried-what").textContent = names.length ? `Tried out: ${names.join(", ")}. ` : "";
  if (find("beyond")) find("beyond").hidden = !["capture_depth_mm", "slope_limit_pct"].some((rule) => ruleNow(rule) > runRule(rule));
  if (!names.length) {
    find("weights-said").textContent = "Every rule is the run's.";
    return;
  }
  const [run, before] = [runLots().weight, runVisits()];
  let [other, now, fresh] = [0, 0, 0];
  for (let lot = 0; lot < lotCount; lot++) {
    if (lotsNow.weight[lot] !== run[lot]) other += 1;
    now += visited[lot];
    if (visited[lot] && !before[lot]) fresh += 1;
  }
  find("weights-said").textContent = `${opening(names.join(", "))}: ${other ? `${grouped(String(other))} ${other === 1 ? "verdict changes" : "verdicts change"}, ` : ""}${fresh} of the ${now} first visits ${fresh === 1 ? "is" : "are"} new.`;
}

/** The first visits as in the run, found once. */
function runVisits() {
  if (!runVisits.found) {
    const kept = changes;
    changes = {};
    runVisits.found = firstVisits(runOrder());
    changes = kept;
  }
  return runVisits.found;
}

const LIST_COLUMNS = [
  "lot_id", "street", "rank", "rank_group", "score", "verdict", "next_step", "deciding_limit", "near_pass", "storm_captured_m3", "storm_kept_m3",
  "value_water_kept", "value_soil", "value_lead", "value_slope", "value_room", "value_side",
  "ponding_area_m2", "footprint_m2", "draining_area_m2", "capture_depth_mm", "eligible", "run_m", "fall_m", "fall_needed_m", "slope_spot_pct",
  "spot_side", "hsg_spot", "hsg_source", "ksat_spot_um_s",
];

const RUN_ON_COLUMNS = ["run_on_m2", "run_on_curve_number", "storm_run_on_m3", "storm_run_on_held_m3"];

/** Every lot under the rules tried out, in whole columns as the tables have them. */
function saveList() {
  const columns = [...LIST_COLUMNS, ...(runRule("run_on") ? RUN_ON_COLUMNS : [])].filter((name) => name in tables.lots.columns);
  const cell = (value) => (value === true ? "yes" : value === false ? "no" : value);
  const rows = Array.from(allLots(), (lot) => [...columns.map((name) => cell(lotValue(name, lot))), visited[lot] ? "yes" : "no"]);
  saveFile("list.csv", "text/csv", csvText([...columns, "first_visit"], rows));
}

function saveRules() {
  const lines = ["# Rules tried out in the map. Name this file in the area file: [rules] file = \"rules.toml\""];
  for (const [rule, value] of Object.entries({...changes, ...(weights || runWeights())})) lines.push(`${rule} = ${value}`);
  saveFile("rules.toml", "application/toml", lines.join("\n") + "\n");
}

// Weights tried out in the page: scores and ranks follow at once, in the same whole numbers as the run.

const ABOUT_EQUAL = 200; // scores this near to the first of their group are about equal

let weights = null; // by rule; null while they are the run's

function runWeights() {
  return Object.fromEntries(data.criteria.map((criterion) => [criterion.rule, data.rules[criterion.rule].value]));
}

/** Scores, ranks and groups under some weights, for every lot that the run ranked. */
function rankWith(byRule) {
  const used = data.criteria.map((criterion) => byRule[criterion.rule]);
  const total = used.reduce((sum, one) => sum + one, 0);
  const values = data.criteria.map((criterion) => tables.lots.columns[criterion.column]);
  const ranked = tables.lots.columns.rank.map((rank, lot) => (rank === null ? -1 : lot)).filter((lot) => lot >= 0);
  const out = {score: new Array(lotCount).fill(null), rank: new Array(lotCount).fill(null), rank_group: new Array(lotCount).fill(null)};
  for (const lot of ranked) {
    const sum = values.reduce((so, column, at) => so + (column[lot] || 0) * used[at], 0);
    out.score[lot] = total ? Math.floor(sum / total) : 0;
  }
  const kept = tables.lots.columns.storm_kept_m3;
  ranked.sort((a, b) => out.score[b] - out.score[a] || (kept[b] || 0) - (kept[a] || 0) || a - b);
  ranked.forEach((lot, at) => (out.rank[lot] = at + 1));
  for (let first = 0; first < ranked.length; ) {
    let last = first;
    while (last + 1 < ranked.length && out.score[ranked[first]] - out.score[ranked[last + 1]] <= ABOUT_EQUAL) last += 1;
    for (let at = first; at <= last; at++) out.rank_group[ranked[at]] = last > first ? `${first + 1}-${last + 1}` : String(first + 1);
    first = last + 1;
  }
  return out;
}

function setWeights(changes) {
  const wanted = {...(weights || runWeights()), ...changes};
  const same = Object.entries(runWeights()).every(([rule, value]) => wanted[rule] === value);
  weights = same ? null : wanted;
  tried = weights ? rankWith(weights) : {};
  breaks = weights ? fifths(tried.score) : data.breaks;
  changed("weights");
}

/** Where classes begin: fifths of the scored lots, each moved to the nearest five points of a hundred, as in the run. */
function fifths(scores) {
  const known = scores.filter((score) => score !== null).sort((a, b) => a - b);
  if (!known.length) return data.breaks;
  const step = 500;
  const out = [1, 2, 3, 4].map((part) => Math.floor((known[Math.min(Math.floor((known.length * part) / 5), known.length - 1)] + step / 2) / step));
  const rise = () => {
    for (let at = 1; at < 4; at++) out[at] = Math.max(out[at], out[at - 1] + 1);
  };
  rise();
  for (let at = 3; at >= 0; at--) out[at] = Math.min(out[at], 10000 / step - 1 - (3 - at));
  out[0] = Math.max(out[0], 1);
  rise();
  return out.map((edge) => edge * step);
}

function weightOf(rule) {
  return weights ? weights[rule] : data.rules[rule].value;
}

function makeWeightPanel() {
  const rows = data.criteria.map((criterion) => {
    const id = `weight-${criterion.rule}`;
    const box = make("input", {type: "number", id, min: 0, max: 1000, step: 1, on: {change: () => {
      const value = Math.max(0, Math.min(1000, Math.round(Number(box.value) || 0)));
      box.value = value;
      setWeights({[criterion.rule]: value});
    }}});
    const slide = make("input", {type: "range", min: 0, max: 100, step: 1, "aria-label": `${CRITERION_NAMES[criterion.column]}, slider`, on: {input: () => setWeights({[criterion.rule]: Number(slide.value)})}});
    const draw = () => {
      box.value = weightOf(criterion.rule);
      slide.value = Math.min(100, weightOf(criterion.rule));
    };
    draw();
    when("weights", draw);
    return make("li", {}, make("label", {for: id}, CRITERION_NAMES[criterion.column] || criterion.column), slide, box,
      make("small", {}, opening(tables.lots.described[criterion.column].meaning.replace("Criterion: ", ""))));
  });
  return [
    make("p", {class: "lead-in"}, "How much each criterion counts. The list, the map and the scores follow at once; verdicts, chances and year figures stay as in the run."),
    make("ul", {class: "weights"}, rows),
    make("div", {class: "button-row"},
      make("button", {type: "button", id: "weights-back", on: {click: () => setWeights(runWeights())}}, "As in the run"),
      make("button", {type: "button", id: "weights-save", on: {click: saveRules}}, "Save as rules file")),
    make("p", {class: "lead-in"}, "The saved file holds the changed weights; name it in the area file under [rules], and the next run uses them."),
    make("p", {id: "weights-said", role: "status"}),
  ];
}

/** Say what changed in the first places. */
function drawWeightsSaid() {
  const most = data.rules.visits.value;
  const before = tables.lots.columns.rank;
  const now = allLots().filter((lot) => lotValue("rank", lot) !== null && lotValue("rank", lot) <= most);
  const fresh = now.filter((lot) => before[lot] > most).length;
  find("weights-said").textContent = weights ? `Weights are changed: ${fresh} of the first ${now.length} are new among them.` : "Weights are the run's.";
  find("tried").hidden = !weights;
}

function saveRules() {
  const lines = ["# Weights tried out in the map. Name this file in the area file: [rules] file = \"rules.toml\""];
  for (const [rule, value] of Object.entries(weights || runWeights())) lines.push(`${rule} = ${value}`);
  saveFile("rules.toml", "application/toml", lines.join("\n") + "\n");
}

// The lot's panel: in words why it stands where it stands, with every value, limit and source.

const SEVERITY_WORDS = {"rules out": "Rules out", "look closer": "Look closer", "test soil": "Test soil", "note": "Note"};
const CRITERION_NAMES = {
  value_water_kept: "Water kept out of the drain", value_soil: "Soil", value_lead: "Lead", value_slope: "Gentle ground", value_room: "Room to spare",
  value_side: "In front",
};

function drawPanel() {
  const panel = find("lot");
  const lot = chosen.lot;
  panel.hidden = lot === null;
  document.body.classList.toggle("with-lot", lot !== null);
  if (lot === null) return;
  const verdict = lotValue("verdict", lot);
  if (data.pages) {
    drawIndexPanel(panel, lot, verdict);
    return;
  }
  fill(panel,
    panelHead(lot, verdict),
    make("p", {class: "verdict-line"}, swatch(classOf(lot), verdict), make("strong", {}, opening(verdict)), ". ", VERDICT_MEANS[verdict]),
    standingOf(lot),
    inShort(lot) ? make("p", {}, inShort(lot)) : null,
    section("Why", scoreWords(lot), reasonList(lot)),
    changeSection(lot),
    verdict === "ruled out" ? otherHelp() : nextStep(lot),
    lotValue("ponding_area_m2", lot) === null ? null : section("The garden at the spot", make("dl", {class: "facts"}, gardenFacts(lot))),
    section("Water", make("dl", {class: "facts"}, waterFacts(lot))),
    lotValue("score", lot) === null ? null : section("How the score is made", scoreTable(lot)),
    section("The lot", make("dl", {class: "facts"}, lotFacts(lot))),
    takenSection(lot),
    soilSection(lot),
    spoutSection(lot),
    otherPlaces(lot),
    noteSection(lot),
    make("p", {class: "panel-caution"}, data.short_caution));
  panel.scrollTop = 0;
  if (chosen.how !== "units" && chosen.how !== "start") panel.focus({preventScroll: chosen.how === "map"});
}

/** The index of a large area tells little of a lot and leads to the page that tells everything. */
function drawIndexPanel(panel, lot, verdict) {
  const page = `map_pages/${lotValue("page", lot)}.html#lot=${encodeURIComponent(lotValue("lot_id", lot))}`;
  fill(panel,
    panelHead(lot, verdict),
    make("p", {class: "verdict-line"}, swatch(classOf(lot), verdict), make("strong", {}, opening(verdict)), ". ", VERDICT_MEANS[verdict]),
    standingOf(lot),
    make("p", {}, make("a", {href: page, id: "lot-page"}, "Everything about this lot")),
    lotValue("score", lot) === null ? null : section("How the score is made", scoreTable(lot)),
    noteSection(lot),
    make("p", {class: "panel-caution"}, data.short_caution));
  if (chosen.how !== "units" && chosen.how !== "start") panel.focus({preventScroll: chosen.how === "map"});
}

/** Draw the panel anew where it stands: the reader's place and focus stay. */
function redrawPanel() {
  if (chosen.lot === null) return;
  const [panel, how, focus] = [find("lot"), chosen.how, document.activeElement && find("lot").contains(document.activeElement) ? document.activeElement.id : ""];
  const top = panel.scrollTop;
  chosen.how = "units";
  drawPanel();
  chosen.how = how;
  panel.scrollTop = top;
  if (focus) find(focus)?.focus({preventScroll: true});
}

function section(title, ...children) {
  return make("section", {class: "part"}, make("h3", {}, title), children);
}

function panelHead(lot, verdict) {
  const lots = listedLots();
  const place = lots.indexOf(lot);
  const go = (step) => select(lots[place + step], "list");
  const id = lotValue("lot_id", lot);
  const street = lotValue("street", lot);
  const below = [lotValue("address", lot) ? `Lot ${id}` : null, streetName(street)].filter((part) => part).join(" · ");
  return make("header", {class: "panel-head"},
    make("div", {class: "panel-buttons"},
      make("button", {type: "button", class: "plain-button", disabled: place <= 0, on: {click: () => go(-1)}}, "Previous"),
      make("button", {type: "button", class: "plain-button", disabled: place < 0 || place + 1 >= lots.length, on: {click: () => go(1)}}, "Next"),
      make("button", {type: "button", class: "plain-button", on: {click: () => showLot(lot)}}, "Show on map"),
      make("button", {type: "button", id: "close-lot", on: {click: closeLot}}, "Close")),
    make("h2", {id: "lot-name"}, lotName(lot)),
    make("p", {class: "below"}, below));
}

function closeLot() {
  const lot = chosen.lot;
  select(null, "close");
  (find("lot-rows").querySelector(`button[data-lot="${lot}"]`) || find("search")).focus();
}

/** Rank and score in a sentence. */
function standingOf(lot) {
  const rank = lotValue("rank", lot);
  if (rank === null) return make("p", {class: "standing"}, runValue("rank", lot) === null ? "Not ranked." : `Not ranked under the rules tried out. In the run: rank ${runValue("rank", lot)}.`, lotValue("near_pass", lot) ? " It failed narrowly: worth a second thought." : "");
  const ranked = judged ? order.length : data.ranked;
  const run = !judged && !weights ? "" : runValue("rank", lot) === null ? ` In the run: ${runValue("verdict", lot)}.` : ` In the run: rank ${runValue("rank", lot)}.`;
  const group = lotValue("rank_group", lot);
  const about = group && group.includes("-") ? ` Ranks ${group.replace("-", " to ")} are about equal.` : "";
  return make("p", {class: "standing"}, `Rank ${grouped(String(rank))} of ${grouped(String(ranked))}, score ${shownScore(lot)} of 100.${about}${run}`);
}

function reasonList(lot) {
  const reasons = reasonsOf(lot);
  if (!reasons.length) return make("p", {}, "Nothing stands against a garden here.");
  return make("ul", {class: "reasons"}, reasons.map((reason) => {
    const kind = reason.severity.replace(" ", "-");
    const rule = ruleWords(reason.rule);
    return make("li", {class: `reason ${kind}`},
      make("span", {class: "tag"}, SEVERITY_WORDS[reason.severity] || reason.severity), " ",
      make("span", {class: "sentence"}, reason.text),
      reason.near ? make("span", {class: "near"}, " A near pass.") : null,
      rule ? make("small", {class: "rule"}, rule) : null);
  }));
}

function nextStep(lot) {
  const step = stepWords(lot);
  return step ? section("Next step", make("p", {}, `${opening(step)}.`)) : null;
}

function otherHelp() {
  return section("What else could help here",
    make("p", {}, "A household is told that no garden place was found from maps, and what else catches roof water:"),
    make("ul", {class: "plain-list"}, data.other_help.map((thing) => make("li", {}, thing))));
}

/** What would change the verdict: the reasons that bind it, each with what would lift it. */
function changeSection(lot) {
  const verdict = lotValue("verdict", lot);
  const severity = {"ruled out": "rules out", "look closer": "look closer", "test soil first": "test soil"}[verdict];
  const binding = reasonsOf(lot).filter((reason) => reason.severity === severity);
  if (!severity || !binding.length) return null;
  const lifts = [...new Set(binding.map((reason) => CHANGES[reason.code] || `${reason.head}: found otherwise on the ground.`))];
  const all = lifts.length > 1 ? "All of these:" : "This:";
  return section("What would change the verdict", make("p", {}, all), make("ul", {class: "plain-list"}, lifts.map((text) => make("li", {}, text))));
}

const CHANGES = {
  no_roof: "A roof that the map does not show.",
  no_room: "Smaller setbacks where local code allows, or a thing on the map that is not there.",
  no_reach: "A longer lead than the rules allow, or a downspout moved.",
  fall: "Levels that show more fall than the elevation does, or a buried lead.",
  slope: "Levels that show gentler ground, or another place on the lot.",
  slope_look: "Levels that show gentler ground.",
  under_minimum: "More room, fewer downspouts led, or a smaller minimum of the programme.",
  upslope: "A look at whether the water really comes that way.",
  water_table: "A test hole that stays dry.",
  bedrock: "A test hole that meets no rock.",
  pond_drawdown: "A soil test that empties in time.",
  bed_drawdown: "A soil test that empties in time.",
  soil_group: "A soil test at the spot.",
  soil_unknown: "A soil test at the spot.",
  soil_line: "A soil test at the spot.",
  overflow: "A look at where the overflow goes, or a berm that turns it.",
  consent: "The consent of whoever holds the easement or the main.",
  tree_crown: "A look at where the trunk stands.",
  partly_assessed: "Elevation for the rest of the lot.",
  carved: "A look at whether there is a culvert.",
};

function criterionName(criterion) {
  return CRITERION_NAMES[criterion.column] || criterion.column;
}

/** What each criterion adds to the score, in their order: {criterion, points, most}. */
function scorePoints(lot) {
  const used = data.criteria.map((criterion) => weightOf(criterion.rule));
  const total = used.reduce((a, b) => a + b, 0) || 1;
  return data.criteria.map((criterion, at) => ({criterion, points: ((lotValue(criterion.column, lot) ?? 0) * used[at]) / total / 100, most: (100 * used[at]) / total}));
}

/** In a sentence, what a lot owes its score to and what it lacks most. */
function scoreWords(lot) {
  if (!lotValue("score", lot)) return null;
  const shares = scorePoints(lot);
  const told = ({criterion, points, most}) => `${closing(criterionName(criterion))} (${fixed(points, 1)} of ${fixed(most, 0)} points)`;
  const [first, second] = shares.slice().sort((a, b) => b.points - a.points);
  const lost = shares.slice().sort((a, b) => b.most - b.points - (a.most - a.points))[0];
  const named = [first, ...(second && second.points > 0 ? [second] : [])];
  const more = named.length > 1 ? ` and ${told(second)}` : "";
  const lacks = !named.includes(lost) && lost.most - lost.points >= 1 ? ` It loses most by ${told(lost)}.` : "";
  return make("p", {id: "score-words"}, `Most of its score comes from ${told(first)}${more}.${lacks}`);
}

/** The score's shares: value times weight, summed, over the sum of weights. */
function scoreTable(lot) {
  const used = data.criteria.map((criterion) => weightOf(criterion.rule));
  const total = used.reduce((a, b) => a + b, 0) || 1;
  const shares = scorePoints(lot);
  const rows = data.criteria.map((criterion, at) => {
    const value = lotValue(criterion.column, lot) ?? 0;
    const points = shares[at].points;
    const bar = make("span", {class: "bar"}, make("span", {class: "bar-part"}));
    bar.style.width = `${(100 * used[at]) / Math.max(...used, 1)}%`;
    bar.firstChild.style.width = `${value / 100}%`;
    return make("tr", {},
      make("th", {scope: "row", title: tables.lots.described[criterion.column].meaning}, criterionName(criterion)),
      make("td", {class: "bar-cell"}, bar),
      make("td", {class: "number"}, `${fixed(value / 100, 2).replace(/\.?0+$/, "") || "0"} × ${used[at]}`),
      make("td", {class: "number"}, fixed(points, 1)));
  });
  return make("table", {class: "score"},
    make("thead", {}, make("tr", {}, make("th", {scope: "col"}, "Criterion"), make("th", {scope: "col"}, make("span", {class: "unseen"}, "Share")), make("th", {scope: "col", class: "number"}, "Value × weight"), make("th", {scope: "col", class: "number"}, "Points"))),
    make("tbody", {}, rows),
    make("tfoot", {}, make("tr", {}, make("th", {scope: "row"}, "Score"), make("td", {}), make("td", {class: "number"}, `sum ÷ ${total}`), make("td", {class: "number"}, String(shownScore(lot))))));
}

function smallTable(heads, rows) {
  return make("table", {class: "small"},
    make("thead", {}, make("tr", {}, heads.map((head, at) => make("th", {scope: "col", class: at ? "number" : null}, head)))),
    make("tbody", {}, rows.map((cells) => make("tr", {}, cells.map((cell, at) => at ? make("td", {class: "number"}, cell) : make("th", {scope: "row"}, cell))))));
}

function takenSection(lot) {
  const c = tables.taken?.columns;
  const rows = rowsOf("taken", lot).filter((row) => c.area_m2[row] >= 0.5);
  if (!rows.length) return null;
  rows.sort((a, b) => c.area_m2[b] - c.area_m2[a] || a - b);
  return section("What took the ground",
    smallTable(["Setback or ground", "Takes", "It alone"], rows.map((row) => [c.constraint[row], amount(c.area_m2[row], "m2", 0), amount(c.alone_m2[row], "m2", 0)])));
}

function soilSection(lot) {
  const rows = rowsOf("soil_lots", lot);
  if (!rows.length) return null;
  const c = tables.soil_lots.columns;
  return section("Soil groups of the open ground",
    smallTable(["Group", "Share", "Source"], rows.map((row) => [c.hsg[row], amount(c.share[row], "share"), SOURCES[c.source[row]] || c.source[row]])));
}

/** What downspouts of one lot are called there, as on its sheet: a placed one by its letter, after the number of its roof where several have such. */
function downspoutLabels(spouts) {
  const roofOf = ([id, placed]) => (placed && id.includes("/") ? id.slice(0, id.lastIndexOf("/")) : null);
  const roofs = [...new Set(spouts.map(roofOf))].filter((roof) => roof !== null).sort((a, b) => (a < b ? -1 : 1));
  return spouts.map((spout) => {
    const roof = roofOf(spout);
    return roof === null ? spout[0] : `${roofs.length > 1 ? roofs.indexOf(roof) + 1 : ""}${spout[0].slice(roof.length + 1)}`;
  });
}

function spoutSection(lot) {
  const rows = rowsOf("downspouts", lot);
  if (!rows.length) return null;
  const c = tables.downspouts.columns;
  const labels = downspoutLabels(rows.map((row) => [c.downspout_id[row], c.placed[row] !== false]));
  return section("Downspouts",
    smallTable(["Downspout", "Roof share", "Could be", "To drain"], rows.map((row, at) => [
      `${labels[at]}${c.placed[row] ? " (a guess)" : ""}`, amount(c.share_m2[row], "m2", 0),
      c.placed[row] === false ? "as given" : c.share_low_m2[row] === null ? "" : `${amount(c.share_low_m2[row], "m2", 0).split(" ")[0]}–${amount(c.share_high_m2[row], "m2", 0)}`,
      amount(c.reach_share[row], "share") || ""])));
}

function otherPlaces(lot) {
  const c = tables.candidates ? tables.candidates.columns : null;
  const rows = rowsOf("candidates", lot).filter((row) => !isSpot(row));
  if (!rows.length) return null;
  const garden = (name, row) => (judged ? gardenTried(name, row) : c[name][row]);
  return section("Other places on the lot",
    smallTable(["Side", "Ponding area", "Holds", "Run", "Slope"], rows.map((row) => [
      c.side[row] || "", amount(garden("ponding_area_m2", row), "m2"), amount(garden("capture_depth_mm", row), "mm"), amount(c.run_m[row], "m", 1), amount(c.slope_pct[row], "%")])));
}

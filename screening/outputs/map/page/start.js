// Puts the page together once the data is read.

const TABS = [
  {id: "lots", name: "Lots", make: makeListPanel},
  {id: "streets", name: "Streets", make: makeStreetPanel},
  {id: "layers", name: "Layers", make: makeLayerPanel},
  {id: "weights", name: "Try out", make: makeTryPanel, unless: () => data.part},
  {id: "season", name: "Season", make: makeSeasonPanel},
  {id: "about", name: "Cautions", make: makeAboutPanel},
];

/** A page of a large area ranks no lots by itself: rules are tried out in the index. */
function shownTabs() {
  return TABS.filter((tab) => !tab.unless || !tab.unless());
}

function showTab(id, focus) {
  for (const tab of shownTabs()) {
    const on = tab.id === id;
    const button = find(`tab-${tab.id}`);
    button.setAttribute("aria-selected", String(on));
    button.tabIndex = on ? 0 : -1;
    find(`panel-${tab.id}`).hidden = !on;
    if (on && focus) button.focus();
  }
  if (id === "weights") prepareToJudge();
  changed("tab");
}

function makeTabs() {
  const tabs = shownTabs();
  fill(find("tabs"), tabs.map((tab) => make("button", {type: "button", role: "tab", id: `tab-${tab.id}`, "aria-controls": `panel-${tab.id}`, on: {click: () => showTab(tab.id)}}, tab.name)));
  find("tabs").addEventListener("keydown", (event) => {
    const at = tabs.findIndex((tab) => `tab-${tab.id}` === event.target.id);
    const to = {ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: tabs.length - 1}[event.key];
    if (to === undefined) return;
    event.preventDefault();
    showTab(tabs[(to + tabs.length) % tabs.length].id, true);
  });
  fill(find("tab-panels"), tabs.map((tab) => make("div", {role: "tabpanel", id: `panel-${tab.id}`, "aria-labelledby": `tab-${tab.id}`, tabindex: "0"}, tab.make())));
  showTab("lots");
}

function makeUnitSwitch() {
  const draw = () => fill(find("units-choice"), ["metric", "us"].map((name) => choiceButton(name === "us" ? "US units" : "Metric", units === name, () => {
    units = name;
    chosen.how = "units";
    draw();
    changed("units");
    find("units-choice").querySelector("[aria-pressed=true]").focus();
  })));
  draw();
}

function drawSummary() {
  const byWeight = new Int32Array(5);
  for (let lot = 0; lot < lotCount; lot++) byWeight[lotsNow.weight[lot]] += 1;
  const counts = VERDICTS.map((verdict) => [verdict, byWeight[VERDICT_OF.lastIndexOf(verdict)] + (verdict === "approach" ? byWeight[FINE] : 0)]);
  fill(find("summary"), `${grouped(String(lotCount))} ${lotCount === 1 ? "lot" : "lots"}: `, counts.map(([verdict, count], at) => [at ? ", " : "",
    make("button", {type: "button", class: "plain-button count-button", title: "Show these in the list", on: {click: () => showVerdict(verdict)}}, `${grouped(String(count))} ${verdict === "approach" ? "to approach" : verdict}`)]));
  if (data.part) add(find("summary"), [` · page ${data.part.number} of ${data.part.of} · `, make("a", {href: "../map.html"}, "All lots and streets")]);
  if (data.pages) add(find("summary"), [` · ${data.pages} pages tell everything; a lot's panel leads to its own`]);
}

/** The list of one verdict, from its count at the top of the page. */
function showVerdict(verdict) {
  if (chosen.lot !== null) select(null, "close");
  clearFilter();
  setFilter({verdict});
  showTab("lots", true);
  find("tabs").scrollIntoView({block: "nearest"});
}

function addressedLot() {
  return new URLSearchParams(location.hash.slice(1)).get("lot");
}

/** The lot named in the page's address (#lot=...) is shown, at the start and when going back and forth. */
function lotFromAddress() {
  const wanted = addressedLot();
  if (wanted === null) {
    if (chosen.lot !== null) select(null, "close");
    return;
  }
  const lot = tables.lots.columns.lot_id.indexOf(wanted);
  if (lot >= 0 && lot !== chosen.lot) select(lot, "start");
}

/** The page's address names the lot that is shown: it can be sent, it outlives a reload, and Back leads to what was before. */
function lotToAddress() {
  const shown = chosen.lot === null ? null : tables.lots.columns.lot_id.at(chosen.lot);
  if (shown !== addressedLot()) location.hash = shown === null ? "" : `lot=${encodeURIComponent(shown)}`;
}

async function start() {
  data = JSON.parse(find("data").textContent);
  units = data.units;
  breaks = data.breaks;
  tables = readTables(data, await unzip(bytesOf(find("numbers").textContent)));
  lotCount = tables.lots.rows;
  for (const name of ["reasons", "roof_pieces", "roof_shares", "downspouts", "open_ground", "taken", "candidates", "kept_reasons", "leads", "overflow_paths", "soil_lots"]) {
    byLot[name] = data.pages ? null : rowsByLot(tables[name], lotCount);
  }
  for (const filter of FILTERS) chosen.filter[filter.key] = "";
  lotsNow = runLots();
  order = runOrder();
  visited = firstVisits(order);
  readNotes();
  for (const layer of [...LAYERS, SLOPE_LAYER]) chosen.layers[layer.id] = layer.on;
  document.title = `${data.title}: where rain gardens can go`;
  find("title").textContent = data.title;
  find("caution-text").textContent = data.short_caution;
  find("caution-more").addEventListener("click", () => {
    showTab("about");
    find("cautions").focus();
  });
  makeUnitSwitch();
  makeTabs();
  makeMapTools();
  when("lot units", drawPanel); // before the map moves: the panel changes how much room the map has
  drawLegend(); // before the map is fitted: the lots keep clear of it
  startMap();
  drawSummary();
  when("weights", () => redrawPanel());
  when("notes", () => redrawPanel());
  when("weights", drawTrySaid);
  when("weights", drawSummary);
  when("notes weights", drawSeason);
  when("notes", () => chosen.filter.ticked && setFilter({}));
  when("units", drawRules);
  when("units", () => changed("streets"));
  drawList();
  drawStreetTable();
  if (hasInlets()) drawInletTable();
  drawRules();
  drawSeason();
  if (!data.part) drawTrySaid();
  startPrint();
  for (const query of ["(prefers-color-scheme: dark)"]) {
    window.matchMedia(query).addEventListener("change", () => {
      forgetColours();
      changed("theme");
    });
  }
  window.addEventListener("hashchange", lotFromAddress);
  when("lot", lotToAddress);
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && chosen.lot !== null) closeLot();
  });
  lotFromAddress();
  document.body.classList.add("ready");
}

/** The map as it is printed: the lot that is open, or all of them. */
function fitForPrint() {
  if (chosen.lot === null) showWhole();
  else map.fitBounds(boundsOfLots([chosen.lot]).pad(0.35), {maxZoom: 20, animate: false});
}

/** In print: the map at the paper's size, fitted to the lots, and the first of the list below it. */
function startPrint() {
  let before = null;
  find("print-button").addEventListener("click", () => window.print());
  window.addEventListener("beforeprint", () => {
    const rows = Array.from(orderedLots().subarray(0, 40), (lot) => make("tr", {},
      [lotValue("rank", lot) ?? "–", lotName(lot), lotValue("verdict", lot), stepWords(lot) || "", shownScore(lot) ?? "", amount(lotValue("storm_kept_m3", lot), "m3") || ""].map((cell) => make("td", {}, String(cell)))));
    fill(find("print-list"), make("table", {}, make("thead", {}, make("tr", {}, ["Rank", "Lot", "Verdict", "Next step", "Score", "Kept out of the drain"].map((head) => make("th", {}, head)))), make("tbody", {}, rows)),
      make("ul", {}, data.cautions.map((text) => make("li", {}, text))));
    before = [map.getCenter(), map.getZoom()];
    document.body.classList.add("printing");
    map.invalidateSize({pan: false});
    fitForPrint();
  });
  window.addEventListener("afterprint", () => {
    document.body.classList.remove("printing");
    map.invalidateSize({pan: false});
    map.setView(...before, {animate: false});
  });
}

start();

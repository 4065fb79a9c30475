// The page for the public: each street with what it sheds and what gardens could keep out of the drain.

let data = null;
let streets = null;
const lines = [];

const HEADS = [
  ["Street", (c, r) => c.street[r] || "Street not known"],
  ["Lots", (c, r) => amount(c.lots[r], "")],
  ["Places for a garden", (c, r) => amount(c.feasible[r], "")],
  ["Roofs and paving shed", (c, r) => bareAmount(c.storm_runoff_m3[r], "m3", 0), "m3"],
  ["Gardens could keep", (c, r) => bareAmount(c.storm_kept_m3[r] ?? (c.feasible[r] === 0 ? 0 : null), "m3", 0), "m3"],
];

function drawTable() {
  const c = streets.columns;
  const storm = amount(data.storm_depth_mm, "mm");
  find("street-intro").textContent = `What rain gardens on every lot with a place for one could keep out of the storm drain in a storm of ${storm}, street by street.${streets.shapes.ringOf[streets.shapes.n] ? " The more a street could keep, the wider its line on the map." : ""}`;
  const rows = Array.from({length: streets.rows}, (_, row) => row).sort((a, b) => (c.storm_kept_m3[b] || 0) - (c.storm_kept_m3[a] || 0) || a - b);
  fill(find("street-table"),
    make("caption", {class: "unseen"}, "Streets"),
    make("thead", {}, make("tr", {}, HEADS.map(([head, , unit], at) => make("th", {scope: "col", class: at ? "number" : null}, head, unit ? make("small", {}, ` ${unitWord(unit)}`) : null)))),
    make("tbody", {}, rows.map((row) => make("tr", {}, HEADS.map(([, text], at) => make(at ? "td" : "th", at ? {class: "number"} : {scope: "row"}, text(c, row) || ""))))));
  const sum = (column) => column.reduce((total, value) => total + (value || 0), 0);
  find("summary").textContent = `${amount(sum(c.lots), "")} lots on ${streets.rows} streets; gardens could keep ${amount(sum(c.storm_kept_m3), "m3", 0)} of ${amount(sum(c.storm_runoff_m3), "m3", 0)}`;
}

/** Lines as wide as the water their street could keep. */
function drawLines(map) {
  const shapes = streets.shapes;
  const most = Math.max(...streets.columns.storm_kept_m3.map((value) => value || 0), 1e-9);
  const group = L.featureGroup().addTo(map);
  for (let f = 0; f < shapes.n; f++) {
    for (let r = shapes.ringOf[f]; r < shapes.ringOf[f + 1]; r++) {
      const points = [];
      for (let p = shapes.pointOf[r]; p < shapes.pointOf[r + 1]; p++) points.push(map.options.crs.pointToLatLng(L.point(shapes.x[p] * 256, shapes.y[p] * 256), 0));
      const share = (streets.columns.storm_kept_m3[f] || 0) / most;
      const line = L.polyline(points, {color: "#14506b", weight: 2 + 10 * share, opacity: 0.85}).addTo(group);
      line.bindTooltip(() => make("span", {}, `${streets.columns.street[f] || "Street not known"}: could keep ${amount(streets.columns.storm_kept_m3[f], "m3", 0) || "nothing"}`), {sticky: true});
      lines.push(line);
    }
  }
  if (lines.length) map.fitBounds(group.getBounds(), {animate: false, padding: [20, 20]});
  else map.fitBounds(data.bounds, {animate: false});
}

function makeUnitSwitch() {
  fill(find("units-choice"), ["metric", "us"].map((name) => choiceButton(name === "us" ? "US units" : "Metric", units === name, () => {
    units = name;
    makeUnitSwitch();
    drawTable();
    find("units-choice").querySelector("[aria-pressed=true]").focus();
  })));
}

async function start() {
  data = JSON.parse(find("data").textContent);
  units = data.units;
  streets = readTables(data, await unzip(bytesOf(find("numbers").textContent))).streets;
  document.title = `${data.title}: what streets could keep out of the drain`;
  find("title").textContent = data.title;
  find("caution-text").textContent = data.short_caution;
  makeUnitSwitch();
  drawTable();
  const map = window.map_lots;
  map.getContainer().setAttribute("role", "application");
  map.getContainer().setAttribute("aria-label", "Map of the streets; the same streets stand in the table.");
  L.control.zoom({position: "topright"}).addTo(map);
  drawLines(map);
  find("print-button").addEventListener("click", () => window.print());
  document.body.classList.add("ready");
}

start();

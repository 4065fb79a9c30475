// What each street could keep out of the drain.

const streetSort = {by: "kept", down: true};

const STREET_COLUMNS = [
  {key: "street", name: "Street", names: true, value: (r) => tables.streets.columns.street[r] ?? "", text: (r) => streetName(tables.streets.columns.street[r])},
  {key: "feasible", name: "Garden places", value: (r) => streetColumn("feasible")[r], text: (r) => `${amount(streetColumn("feasible")[r], "")} of ${amount(tables.streets.columns.lots[r], "")}`},
  {key: "visits", name: "First visits", value: (r) => streetVisits()[r], text: (r) => amount(streetVisits()[r], "")},
  {key: "kept", name: "Could keep", unit: "m3", bar: true, value: (r) => streetColumn("storm_kept_m3")[r], text: (r) => bareAmount(keptOf("storm_kept_m3", r), "m3")},
  {key: "share", name: "Share of runoff", value: (r) => streetColumn("storm_kept_share")[r], text: (r) => amount(keptOf("storm_kept_share", r), "share")},
];

/** What a street keeps, or what share: nothing where it has no garden place. */
function keptOf(name, row) {
  return streetColumn(name)[row] ?? (streetColumn("feasible")[row] === 0 ? 0 : null);
}

/** How many of the first visits fall on each street. */
function streetVisits() {
  if (streetVisits.of !== visited) {
    const [rowOf, street] = [streetRows(), streetsOfLots().of];
    streetVisits.found = new Array(tables.streets.rows).fill(0);
    for (let lot = 0; lot < lotCount; lot++) if (visited[lot]) streetVisits.found[rowOf[street[lot]]] += 1;
    streetVisits.of = visited;
  }
  return streetVisits.found;
}

function makeStreetPanel() {
  when("units streets filter weights", drawStreetTable);
  when("tab", () => drawStreetTable.late && drawStreetTable());
  return [
    make("p", {class: "lead-in", id: "street-intro"}),
    make("div", {class: "scroll-x", tabindex: "0", role: "region", "aria-label": "Streets"}, make("table", {id: "street-table", class: "sums-table"})),
    make("h2", {}, "Water kept against gardens built"),
    make("p", {class: "lead-in"}, "Best lots first, by what each keeps out of the drain in the storm."),
    make("div", {id: "curve"}),
    hasInlets() ? makeInletPart() : null,
  ];
}

/** Draw the streets once somebody looks at them. */
function drawStreetTable() {
  drawStreetTable.late = find("panel-streets").hidden;
  if (drawStreetTable.late) return;
  const storm = amount(data.rules.storm_depth_mm.value, "mm");
  find("street-intro").textContent = `What gardens on every lot that is not ruled out could keep out of the drain in a storm of ${storm}, and what share that is of all that roofs and paving shed. Pick a street to see its lots and its curve.`;
  drawSums(find("street-table"), "Streets and what they could keep out of the drain", STREET_COLUMNS, streetSort, Array.from({length: tables.streets.rows}, (_, row) => row), drawStreetTable, {
    isOn: (row) => chosen.filter.street !== "" && chosen.filter.street === (tables.streets.columns.street[row] || "(none)"),
    pick: (row, on) => pickStreet(on ? "" : tables.streets.columns.street[row] || "(none)"),
  });
  drawCurve();
}

/** Filter to a street and bring it into view. */
function pickStreet(street) {
  setFilter({street});
  const lots = allLots().filter((lot) => !matching || matching[lot]);
  if (street !== "" && lots.length) showClear(boundsOfLots(lots).pad(0.05), !calm.matches);
  else showWhole();
}

/** Water kept by the first n gardens, for n from 0; of the street chosen, or of all. */
function keptCurve() {
  const {of, words} = streetsOfLots();
  const street = chosen.filter.street === "" ? -1 : chosen.filter.street === "(none)" ? 0 : words.indexOf(chosen.filter.street) + 1;
  const lots = street < 0 ? order : order.filter((lot) => of[lot] === street);
  const kept = Int32Array.from(lots, (lot) => -Math.max(lotsNow.kept[lot], 0)).sort();
  const out = new Float64Array(lots.length + 1);
  for (let at = 0; at < kept.length; at++) out[at + 1] = (Math.round(100 * out[at]) - kept[at]) / 100;
  return out;
}

const SVG = "http://www.w3.org/2000/svg";

function svg(tag, attributes, ...children) {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, String(value));
  element.append(...children);
  return element;
}

/** So many gardens, in words. */
function gardensWords(n) {
  return n === 1 ? "1 garden" : `${grouped(String(n))} gardens`;
}

function drawCurve() {
  const curve = keptCurve();
  const n = curve.length - 1;
  const total = curve[n];
  const half = curve.findIndex((value) => value >= total / 2);
  const where = chosen.filter.street === "" ? "The whole area" : streetName(chosen.filter.street === "(none)" ? "" : chosen.filter.street);
  const halfWords = n > 1 && half ? `; the best ${half === 1 ? "one keeps" : `${half} keep`} half of it` : "";
  const text = n ? `${where}: ${gardensWords(n)} could keep ${amount(total, "m3")}${halfWords}.` : `${where}: no garden place.`;
  const most = amount(total, "m3", 0);
  const [width, height, left, bottom] = [340, 150, Math.max(30, 12 + 6.6 * most.length), 26];
  const px = (at) => left + ((width - left - 8) * at) / Math.max(n, 1);
  const py = (value) => height - bottom - ((height - bottom - 10) * value) / (total || 1);
  const each = Math.max(1, Math.floor(n / width)); // no more points than the picture is wide
  const shown = Array.from(curve.keys()).filter((at) => at % each === 0 || at === n);
  const points = shown.map((at) => `${px(at).toFixed(1)},${py(curve[at]).toFixed(1)}`).join(" ");
  const picture = svg("svg", {viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": text, class: "curve"},
    svg("line", {x1: left, y1: py(0), x2: width - 8, y2: py(0), class: "axis"}),
    svg("line", {x1: left, y1: py(total), x2: left, y2: py(0), class: "axis"}),
    svg("polyline", {points, class: "curve-line"}),
    svg("line", {x1: px(half), y1: py(0), x2: px(half), y2: py(curve[half] || 0), class: "half"}),
    svgText(left - 4, py(total) + 4, most, "end"),
    svgText(left - 4, py(0) + 4, "0", "end"),
    svgText(px(n), height - 8, gardensWords(n), "end"),
    svgText(px(half), height - 8, half && half < n * 0.7 ? String(half) : "", "middle"));
  fill(find("curve"), n ? picture : null, make("p", {class: "lead-in"}, text));
}

function svgText(x, y, text, anchor) {
  return svg("text", {x, y, "text-anchor": anchor}, document.createTextNode(text));
}

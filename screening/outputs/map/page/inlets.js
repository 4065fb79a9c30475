// Inlets of the storm drain: the ground and the lots that drain to each, and what gardens there could keep out of it.

/** Whether inlets were given and the page tells of them. */
function hasInlets() {
  return Boolean(tables.inlet_totals?.rows);
}

/** Inlets that lots drain to, and none where some meet none. */
function inletChoices() {
  const found = distinct("inlet");
  return found.length && allLots().some((lot) => lotValue("inlet", lot) === null) ? [...found, ""] : found;
}

/** Row of an inlet in a table; undefined where it has none. */
function inletRow(table, id) {
  inletRow.of = inletRow.of || {};
  inletRow.of[table] = inletRow.of[table] || new Map(Array.from(tables[table].columns.inlet_id, (name, row) => [name, row]));
  return inletRow.of[table].get(id);
}

/** The colour of an inlet's catchment and of the lots that drain to it, by its name in the style. */
function inletShade(id) {
  if (id === null) return "faint";
  const row = inletRow("catchments", id);
  return row === undefined ? "shade-1" : `shade-${tables.catchments.columns.shade[row]}`;
}

function inletLegend() {
  const shades = [1, 2, 3].map((number) => make("span", {class: `swatch shade-${number}`, "aria-hidden": "true"}));
  const met = lotCount - allLots().filter((lot) => lotValue("inlet", lot) === null).length;
  return [
    make("li", {}, make("span", {class: "swatches"}, shades), make("span", {}, `Neighbours in one colour share an inlet: ${met}`)),
    legendRow(make("span", {class: "swatch shade-none", "aria-hidden": "true"}), `Water meets no inlet: ${lotCount - met}`),
  ];
}

/** What is said of an inlet under the pointer. */
function inletWords(id) {
  const row = hasInlets() ? inletRow("inlet_totals", id) : undefined;
  if (row === undefined) return `Inlet ${id} of the storm drain`;
  const c = tables.inlet_totals.columns;
  const kept = c.storm_kept_m3[row];
  return `Inlet ${id}: ${amount(c.catchment_m2[row], "m2", 0) || "hardly any"} of ground and ${c.lots[row] === 1 ? "1 lot" : `${c.lots[row]} lots`} drain to it` +
    (kept === null ? "" : `; gardens could keep ${amount(kept, "m3")} out of it`);
}

const inletSort = {by: "kept", down: true};

const INLET_COLUMNS = [
  {key: "inlet", name: "Inlet", names: true, value: (r) => tables.inlet_totals.columns.inlet_id[r], text: (r) => (tables.inlet_totals.columns.inlet_id[r] === data.no_inlet ? "None met" : tables.inlet_totals.columns.inlet_id[r])},
  {key: "feasible", name: "Garden places", value: (r) => tables.inlet_totals.columns.feasible[r], text: (r) => `${amount(tables.inlet_totals.columns.feasible[r], "")} of ${amount(tables.inlet_totals.columns.lots[r], "")}`},
  {key: "ground", name: "Ground", unit: "m2", value: (r) => tables.inlet_totals.columns.catchment_m2[r], text: (r) => bareAmount(tables.inlet_totals.columns.catchment_m2[r], "m2", 0)},
  {key: "kept", name: "Could keep", unit: "m3", bar: true, value: (r) => tables.inlet_totals.columns.storm_kept_m3[r], text: (r) => bareAmount(tables.inlet_totals.columns.storm_kept_m3[r], "m3")},
  {key: "share", name: "Share of runoff", value: (r) => tables.inlet_totals.columns.storm_kept_share[r], text: (r) => amount(tables.inlet_totals.columns.storm_kept_share[r], "share")},
];

function makeInletPart() {
  when("units filter weights", drawInletTable);
  when("tab", () => drawInletTable.late && drawInletTable());
  return [
    make("h2", {}, "By inlet"),
    make("p", {class: "lead-in", id: "inlet-intro"}),
    make("div", {class: "scroll-x", tabindex: "0", role: "region", "aria-label": "Inlets"}, make("table", {id: "inlet-table", class: "sums-table"})),
  ];
}

/** Draw the inlets once somebody looks at them. */
function drawInletTable() {
  drawInletTable.late = find("panel-streets").hidden;
  if (drawInletTable.late) return;
  const shed = tables.inlet_totals.columns.storm_runoff_m3;
  const rows = Array.from(shed.keys()).filter((row) => shed[row] !== null);
  const others = shed.length - rows.length;
  const dry = others ? ` ${others === 1 ? "One more takes" : `${others} more take`} no roof water.` : "";
  const tried = fromRun() ? " These figures are from the run: what is tried out does not change them." : "";
  find("inlet-intro").textContent = `The same, by the inlet that roofs and paving drain to over the ground. A lot counts where most of its roof water goes; its water is split by downspouts. Pick an inlet to see its lots and its catchment.${dry}${tried}`;
  const ids = tables.inlet_totals.columns.inlet_id;
  drawSums(find("inlet-table"), "Inlets and what could be kept out of them", INLET_COLUMNS, inletSort, rows, drawInletTable, {
    isOn: (row) => chosen.filter.inlet !== "" && chosen.filter.inlet === filterOfInlet(ids[row]),
    pick: (row, on) => pickInlet(on ? "" : filterOfInlet(ids[row])),
  });
}

/** What the filter is set to for a row of the totals: lots that meet no inlet have none. */
function filterOfInlet(id) {
  return id === data.no_inlet ? "(none)" : id;
}

/** Filter to the lots of an inlet and bring them and its catchment into view. */
function pickInlet(inlet) {
  setFilter({inlet});
  const lots = allLots().filter((lot) => !matching || matching[lot]);
  if (inlet === "" || !lots.length) return showWhole();
  const bounds = boundsOfLots(lots);
  const row = inletRow("catchments", inlet);
  if (row !== undefined) bounds.extend(boundsOf(...tables.catchments.shapes.boxes.subarray(4 * row, 4 * row + 4)));
  showClear(bounds.pad(0.05), !calm.matches);
}

/** Show the lots of the inlet at a place; whether there is one. */
function pickInletAt(latlng) {
  if (!hasInlets() || !chosen.layers.inlets || map.getZoom() < LAYERS.find((layer) => layer.id === "inlets").from) return false;
  const found = indexOf("inlets").at(...worldAt(latlng, 7));
  if (found < 0) return false;
  const inlet = tables.inlets.columns.inlet_id[found];
  pickInlet(inlet);
  say(inletWords(inlet));
  return true;
}

/** Borders of the catchments, filled where lots are coloured by inlet; that of the inlet picked is the strongest. */
function drawCatchments(pen, shapes, found, view) {
  const ids = tables.catchments.columns.inlet_id;
  const picked = found.filter((f) => ids[f] === chosen.filter.inlet);
  if (chosen.colourBy === "inlet") {
    const fills = new Paths();
    for (const f of found) fills.add(`${inletShade(ids[f])}|${chosen.filter.inlet !== "" && !picked.includes(f) ? 0.12 : 0.4}`, shapes, f, view);
    fills.each((key, path) => {
      const [name, strength] = key.split("|");
      pen.globalAlpha = Number(strength);
      pen.fillStyle = colour(name);
      pen.fill(path, "evenodd");
    });
    pen.globalAlpha = 1;
  }
  const [borders, strong] = [new Path2D(), new Path2D()];
  for (const f of found) trace(borders, shapes, f, view, true);
  for (const f of picked) trace(strong, shapes, f, view, true);
  strokeTwice(pen, borders, "catchment", view.zoom >= 17 ? 1.6 : 1, [8, 3, 2, 3]);
  strokeTwice(pen, strong, "catchment", 3);
}

// How lots are coloured, the legend, and the list of layers.

const COLOUR_CHOICES = {
  suitability: "Suitability", soil: "Soil group", limit: "Limit that ruled out", inlet: "Inlet they drain to", none: "Outlines only",
};

/** Colours that the page can give the lots: by inlet only where inlets were given. */
function colourChoices() {
  return Object.entries(COLOUR_CHOICES).filter(([value]) => value !== "inlet" || hasInlets());
}

function makeMapTools() {
  const picker = make("select", {id: "colour-by", on: {change: () => {
    chosen.colourBy = picker.value;
    changed("colours");
  }}}, colourChoices().map(([value, name]) => make("option", {value}, name)));
  fill(find("map-tools"),
    make("label", {for: "colour-by"}, "Colour lots by"), picker,
    make("button", {type: "button", id: "whole-area", on: {click: showWhole}}, "Whole area"));
  when("colours units weights", drawLegend);
  let wide = roomForLegend();
  new ResizeObserver(() => {
    if (roomForLegend() === wide) return;
    wide = !wide;
    find("map-legend").querySelector("details").open = wide;
  }).observe(find("map-part"));
}

/** A small map begins with its legend closed. */
function roomForLegend() {
  return find("map-part").clientWidth > 600 && find("map-part").clientHeight > 400;
}

/** Width and height that an open legend takes of the map [px]. */
function legendSize() {
  const legend = find("map-legend");
  return legend.querySelector("details")?.open ? [legend.offsetWidth + 10, legend.offsetHeight + 10] : [0, 0];
}

function scoreRange(number) {
  const edges = [0, ...breaks.map((edge) => edge / 100), 100];
  if (number === 1) return `score under ${edges[1]}`;
  return number === 5 ? `${edges[4]} and over` : `${edges[number - 1]} to under ${edges[number]}`;
}

function legendRow(sample, text) {
  return make("li", {}, sample, make("span", {}, text));
}

function nearPasses() {
  let count = 0;
  for (let lot = 0; lot < lotCount; lot++) if (lotsNow.near[lot] === 1) count += 1;
  return count;
}

function drawLegend() {
  const rows = [];
  if (chosen.colourBy === "suitability") {
    for (const number of [5, 4, 3, 2, 1]) {
      const word = number === 5 ? "Highest: " : number === 1 ? "Lowest: " : "";
      rows.push(legendRow(swatch(number, null), word + scoreRange(number)));
    }
  } else if (chosen.colourBy === "soil") {
    for (const group of ["A", "B", "C", "D", "unknown"]) rows.push(legendRow(make("span", {class: `swatch soil-${group.toLowerCase()}`, "aria-hidden": "true"}), group === "unknown" ? "Group unknown" : `Group ${group}${group === "D" ? ", and dual groups" : ""}`));
  } else if (chosen.colourBy === "limit") {
    limitOrder().slice(0, 5).forEach(([code, count], at) => rows.push(legendRow(make("span", {class: `swatch limit-${at + 1}`, "aria-hidden": "true"}), `${data.reasons[code]?.head || code}: ${count}`)));
    const rest = limitOrder().slice(5).reduce((sum, [, count]) => sum + count, 0);
    if (rest) rows.push(legendRow(make("span", {class: "swatch limit-6", "aria-hidden": "true"}), `Others: ${rest}`));
  } else if (chosen.colourBy === "inlet") {
    rows.push(...inletLegend());
  }
  const patterns = chosen.colourBy === "none" ? [] : chosen.colourBy === "limit" ? [
    legendRow(make("span", {class: "swatch limit-1 verdict-out", "aria-hidden": "true"}), "Fails clearly"),
    legendRow(make("span", {class: "swatch limit-1", "aria-hidden": "true"}), `A near pass: ${nearPasses()}`),
    legendRow(make("span", {class: "swatch class-0", "aria-hidden": "true"}), "Not ruled out"),
  ] : [
    legendRow(make("span", {class: "swatch verdict-test", "aria-hidden": "true"}), "Test soil first"),
    legendRow(make("span", {class: "swatch verdict-look", "aria-hidden": "true"}), "Look closer"),
    legendRow(make("span", {class: "swatch class-0 verdict-out", "aria-hidden": "true"}), "Ruled out"),
  ];
  const open = find("map-legend").querySelector("details")?.open ?? roomForLegend();
  find("map-legend").hidden = !rows.length && !patterns.length;
  fill(find("map-legend"), make("details", {open}, make("summary", {}, COLOUR_CHOICES[chosen.colourBy]), make("ul", {}, rows), make("ul", {}, patterns)));
}

const SLOPE_LAYER = {id: "slope", name: "Slope", on: false};

function makeLayerPanel() {
  const rows = LAYERS.filter((layer) => !layer.fixed && tables[layer.table]?.shapes && tables[layer.table].rows).slice().reverse();
  return [
    make("p", {class: "lead-in"}, "Small things are drawn from closer up; those of the chosen lot always."),
    make("ul", {class: "layers"},
      rows.map((layer) => layerRow(layer.id, layer.name, layer.means)),
      window.image_overlay_slope ? layerRow("slope", "Slope classes", "Slope of the ground; gentler ground is left clear.", slopeKey()) : null),
    make("h2", {}, "Verdicts"),
    make("dl", {class: "verdicts"}, VERDICTS.map((verdict) => make("div", {}, make("dt", {}, swatch(verdict === "ruled out" ? 0 : 3, verdict), opening(verdict)), make("dd", {}, VERDICT_MEANS[verdict])))),
  ];
}

/** What each class of slope means for a garden, with its colour. */
function slopeKey() {
  const edges = data.slope_breaks.map((edge) => `${Number(edge.toFixed(1))}%`);
  const means = ["a garden may stand there", "looked at closer", "too steep for a garden", "gardens keep their distance from it"];
  return make("ul", {class: "class-key"}, means.map((words, at) =>
    legendRow(make("span", {class: `swatch slope-${at + 1}`, "aria-hidden": "true"}), `${at < 3 ? `${edges[at]} to ${edges[at + 1]}` : `${edges[3]} and over`}: ${words}`)));
}

function layerRow(id, name, means, more) {
  const box = make("input", {type: "checkbox", id: `layer-${id}`, on: {change: () => {
    chosen.layers[id] = box.checked;
    changed("layers");
  }}});
  box.checked = Boolean(chosen.layers[id]);
  return make("li", {}, box, layerSample(id), make("div", {}, make("label", {for: `layer-${id}`}, name), make("small", {}, means), more));
}

/** A small drawing of how a layer looks. */
function layerSample(id) {
  const box = {viewBox: "0 0 28 18", class: `sample sample-${id}`, "aria-hidden": "true"};
  const line = () => svg("path", {d: "M2 14 L11 6 L17 10 L26 4", class: "line"});
  const area = () => svg("rect", {x: 3, y: 3, width: 22, height: 12, class: "area"});
  if (["streets", "flow", "leads", "overflow_paths"].includes(id)) return svg("svg", box, line());
  if (id === "downspouts") return svg("svg", box, svg("circle", {cx: 8, cy: 9, r: 4, class: "given"}), svg("circle", {cx: 20, cy: 9, r: 5, class: "guess"}), svgText(20, 12.5, "?", "middle"));
  if (id === "inlets") return svg("svg", box, svg("rect", {x: 9, y: 4, width: 10, height: 10, class: "area"}), svg("path", {d: "M12 4v10M14.5 4v10M17 4v10", class: "line"}));
  if (id === "candidates") return svg("svg", box, svg("ellipse", {cx: 14, cy: 9, rx: 10, ry: 5, class: "area"}));
  if (id === "ranks") return svg("svg", box, svgText(14, 13, "12", "middle"));
  return svg("svg", box, area());
}

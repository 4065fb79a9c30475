// The map: what folium made of it, our layer on top, and what pointer and keyboard do.

let map = null;
let canvasLayer = null;

const calm = window.matchMedia("(prefers-reduced-motion: reduce)");

/** A world box as Leaflet bounds. */
function boundsOf(west, north, east, south) {
  const at = (x, y) => map.options.crs.pointToLatLng(L.point(x * 256, y * 256), 0);
  return L.latLngBounds(at(west, south), at(east, north));
}

function boundsOfLots(lots) {
  const boxes = tables.lots.shapes.boxes;
  let [west, north, east, south] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const lot of lots) {
    if (boxes[4 * lot] === Infinity) continue;
    west = Math.min(west, boxes[4 * lot]);
    north = Math.min(north, boxes[4 * lot + 1]);
    east = Math.max(east, boxes[4 * lot + 2]);
    south = Math.max(south, boxes[4 * lot + 3]);
  }
  return west === Infinity ? L.latLngBounds(data.bounds) : boundsOf(west, north, east, south);
}

function allLots() {
  allLots.made = allLots.made || Int32Array.from({length: lotCount}, (_, lot) => lot);
  return allLots.made;
}

function showWhole() {
  showClear(boundsOfLots(allLots()), false);
}

/** Bounds in view, clear of the tools and of an open legend: beside it or above it, whichever shows them larger. */
function showClear(bounds, animate) {
  const [width, height] = legendSize();
  const zoom = (left, bottom) => map.getBoundsZoom(bounds, false, L.point(24 + left, 70 + bottom));
  const [beside, above] = [zoom(width, 0), zoom(0, height)];
  const covered = Math.max(beside, above) < zoom(0, 0) - 1; // there is no room for both
  const left = !covered && beside >= above ? width : 0;
  const bottom = !covered && beside < above ? height : 0;
  map.fitBounds(bounds, {animate, paddingTopLeft: [12 + left, 58], paddingBottomRight: [12, 12 + bottom]});
}

/** Bring a lot into view: near enough to see its garden. */
function showLot(lot) {
  map.invalidateSize({pan: false});
  map.fitBounds(boundsOfLots([lot]).pad(0.35), {maxZoom: 20, animate: !calm.matches});
}

/** World coordinates of a place on the map, and the reach of some pixels there. */
function worldAt(latlng, pixels) {
  const point = map.options.crs.latLngToPoint(latlng, 0);
  return [point.x / 256, point.y / 256, pixels / (256 * 2 ** map.getZoom())];
}

function lotAt(latlng) {
  const [x, y] = worldAt(latlng, 0);
  return indexOf("lots").at(x, y, 0);
}

/** What a small thing under the pointer is, in words; null when there is none. */
function thingAt(latlng) {
  const [x, y, reach] = worldAt(latlng, 7);
  const zoom = map.getZoom();
  for (const {table, layer, words} of THINGS) {
    const drawn = LAYERS.find((l) => l.id === layer);
    if (!tables[table]?.shapes || !layerShown(drawn) || zoom < drawn.from) continue;
    const f = indexOf(table).at(x, y, reach);
    if (f >= 0) {
      const text = words(tables[table].columns, f);
      if (text) return text;
    }
  }
  return null;
}

const THINGS = [
  {table: "inlets", layer: "inlets", words: (c, f) => inletWords(c.inlet_id[f])},
  {table: "downspouts", layer: "downspouts", words: (c, f) => {
    const range = c.placed[f] && c.share_low_m2[f] !== null ? ` (${amount(c.share_low_m2[f], "m2", 0)} to ${amount(c.share_high_m2[f], "m2", 0)})` : "";
    return `Downspout${c.placed[f] ? ", a guess of the tool" : ""}: ${amount(c.share_m2[f], "m2", 0)} of roof${range}`;
  }},
  {table: "candidates", layer: "candidates", words: (c, f) =>
    `${isSpot(f) ? "Spot" : "Another place"}: ${amount(judged ? gardenTried("ponding_area_m2", f) : c.ponding_area_m2[f], "m2")} of ponding area`},
  {table: "leads", layer: "leads", words: (c, f) => ofSpot("leads", f) ? `Lead, ${c.lead[f]}: ${amount(c.run_m[f], "m", 1)} long` : null},
  {table: "overflow_paths", layer: "overflow_paths", words: (c, f) => ofSpot("overflow_paths", f) ? `Overflow goes to: ${c.overflow_to[f]}` : null},
  {table: "flow", layer: "flow", words: (c, f) => `Flow line: ${amount(c.upslope_m2[f], "m2", 0)} of ground drain to its end`},
  {table: "hollows", layer: "hollows", words: (c, f) => `Hollow, ${amount(c.depth_m[f], "m")} deep`},
  {table: "catchments", layer: "catchments", words: (c, f) => `Catchment of inlet ${c.inlet_id[f]}`},
];

/** The small text beside the pointer. */
function showHint(event) {
  const hint = find("map-hint");
  const lot = lotAt(event.latlng);
  const thing = thingAt(event.latlng);
  if (lot < 0 && !thing) {
    hint.hidden = true;
    return;
  }
  const lines = [];
  if (thing) lines.push(make("p", {class: "thing"}, thing));
  if (lot >= 0) {
    const rank = lotValue("rank", lot);
    lines.push(make("p", {}, make("strong", {}, lotName(lot))));
    lines.push(make("p", {}, lotValue("verdict", lot), rank === null ? "" : `, rank ${rank}, score ${shownScore(lot)}`));
  }
  fill(hint, lines);
  hint.hidden = false;
  const box = find("map-part").getBoundingClientRect();
  const size = hint.getBoundingClientRect();
  const x = Math.min(event.containerPoint.x + 14, box.width - size.width - 6);
  const y = event.containerPoint.y + 16 + size.height > box.height ? event.containerPoint.y - size.height - 10 : event.containerPoint.y + 16;
  hint.style.transform = `translate(${Math.max(4, x)}px, ${Math.max(4, y)}px)`;
}

function startMap() {
  map = window.map_lots;
  const container = map.getContainer();
  container.setAttribute("role", "application");
  container.setAttribute("aria-label", "Map of the lots. Arrow keys move it, plus and minus zoom, Enter picks the lot under the cross. The same lots stand in the list.");
  container.append(make("div", {class: "cross", "aria-hidden": "true"}));
  L.control.zoom({position: "topright"}).addTo(map);
  const scale = () => L.control.scale({position: "bottomright", metric: units !== "us", imperial: units === "us"}).addTo(map);
  let bar = scale();
  when("units", () => {
    bar.remove();
    bar = scale();
  });
  canvasLayer = makeCanvasLayer().addTo(map);
  window.image_overlay_slope?.remove();
  map.on("zoomend", () => canvasLayer.repaint());
  showWhole();
  map.setMaxBounds(L.latLngBounds(data.bounds).pad(1));
  map.setMinZoom(Math.max(0, map.getZoom() - 2));
  map.on("click", (event) => {
    const lot = lotAt(event.latlng);
    if (lot >= 0) select(lot, "map");
    else pickInletAt(event.latlng);
  });
  map.on("mousemove", showHint);
  map.on("mouseout", () => (find("map-hint").hidden = true));
  container.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.target !== container) return;
    const lot = lotAt(map.getCenter());
    if (lot >= 0) select(lot, "keys");
    else if (!pickInletAt(map.getCenter())) say("No lot under the cross");
  });
  when("lot filter colours layers theme", () => canvasLayer.repaint());
  when("weights", () => canvasLayer.repaintSoon());
  when("lot", () => {
    if (chosen.lot !== null && chosen.how !== "map") showLot(chosen.lot);
  });
  when("layers", () => {
    const slope = window.image_overlay_slope;
    if (slope) (chosen.layers.slope ? slope.addTo(map) : slope.remove());
  });
  new ResizeObserver(() => map.invalidateSize({pan: false})).observe(container);
}

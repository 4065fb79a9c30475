// Draws the layers onto one tile. A view says where the tile lies: pixels = world x scale - left, top.

/** The layers, from the lowest to the topmost. `from` is the zoom from which all of it is drawn; the chosen lot's own
 *  part is drawn at any zoom. */
const LAYERS = [
  {id: "streets", table: "streets", name: "Streets", from: 0, on: true, draw: drawStreets,
   means: "Streets as given, with their names."},
  {id: "water", table: "water", name: "Streams and ponds", from: 0, on: true, draw: fillAll("water-fill", "water-line"),
   means: "Open water as given; a garden keeps its distance."},
  {id: "lots", table: "lots", name: "Lots", from: 0, on: true, fixed: true, draw: drawLots, means: "Every lot of the input."},
  {id: "catchments", table: "catchments", name: "Catchments of inlets", from: 0, on: false, also: () => chosen.colourBy === "inlet", draw: drawCatchments,
   means: "Ground whose water ends in one inlet, along gutters too; the roofs on it drain where their downspouts do."},
  {id: "open_ground", table: "open_ground", name: "Open ground", from: 17, on: false, lot: true, draw: fillAll("open-fill", "open-line"),
   means: "Where digging is allowed after every setback. What is left of a lot was taken by setbacks; the lot's panel says by which."},
  {id: "hollows", table: "hollows", name: "Hollows", from: 15, on: true, draw: fillAll("hollow-fill", "hollow-line", [4, 3]),
   means: "Ground that holds water before it spills, as deep and as large as the rules count."},
  {id: "roof_pieces", table: "roof_pieces", name: "Roofs", from: 17, on: true, lot: true, draw: fillAll("roof-fill", "roof-line"),
   means: "Roof outlines at the eaves, cut at lot lines."},
  {id: "roof_shares", table: "roof_shares", name: "Roof shares", from: 19, on: true, lot: true, draw: fillAll(null, "share-line", [3, 2]),
   means: "The part of a roof that drains to one downspout."},
  {id: "flow", table: "flow", name: "Flow lines", from: 15, on: true, draw: drawFlow,
   means: "Where water gathers over the ground; thicker where more ground drains to it."},
  {id: "overflow_paths", table: "overflow_paths", name: "Overflow paths", from: 18, on: true, lot: true, draw: drawOverflow,
   means: "Where water goes from a full garden."},
  {id: "leads", table: "leads", name: "Leads", from: 18, on: true, lot: true, draw: drawLeads,
   means: "How water gets from downspout to garden."},
  {id: "candidates", table: "candidates", name: "Garden places", from: 17, on: true, lot: true, draw: drawCandidates,
   means: "The spot, filled; on the chosen lot, other places as well, outlined."},
  {id: "downspouts", table: "downspouts", name: "Downspouts", from: 18, on: true, lot: true, draw: drawDownspouts,
   means: "Filled where given; a ring with a question mark where the tool placed it, which is a guess."},
  {id: "inlets", table: "inlets", name: "Inlets", from: 16, on: true, draw: drawInlets, means: "Where the storm drain takes water."},
  {id: "ranks", table: "lots", name: "Ranks", from: 15, on: true, draw: drawRanks,
   means: "The first lots to approach by number; all of them from closer up."},
];

/** Whether a layer is drawn: it is switched on, or what lots are coloured by asks for it. */
function layerShown(layer) {
  return Boolean(chosen.layers[layer.id] || layer.also?.());
}

/** Add a shape's rings to a path. */
function trace(path, shapes, f, view, close) {
  if (shapes.kind === "line") close = false;
  for (let r = shapes.ringOf[f]; r < shapes.ringOf[f + 1]; r++) {
    const first = shapes.pointOf[r];
    const last = shapes.pointOf[r + 1];
    for (let p = first; p < last; p++) {
      const x = shapes.x[p] * view.scale - view.left;
      const y = shapes.y[p] * view.scale - view.top;
      if (p === first) path.moveTo(x, y);
      else path.lineTo(x, y);
    }
    if (close) path.closePath();
  }
}

/** A drawer that fills and outlines whole shapes of one kind. */
function fillAll(fillName, lineName, dash) {
  return (pen, shapes, found, view) => {
    const paths = new Paths();
    for (const f of found) paths.add("", shapes, f, view);
    pen.strokeStyle = colour(lineName);
    pen.lineWidth = shapes.kind === "line" ? 2 : 1;
    pen.setLineDash(dash || []);
    if (fillName) pen.fillStyle = colour(fillName);
    paths.each((key, path) => {
      if (fillName && shapes.kind === "polygon") pen.fill(path, "evenodd");
      pen.stroke(path);
    });
    pen.setLineDash([]);
  };
}

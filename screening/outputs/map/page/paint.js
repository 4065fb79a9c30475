// Draws the layers onto one tile. A view says where the tile lies: pixels = world x scale - left, top.

/** The layers, from the lowest to the topmost. `from` is the zoom from which all of it is drawn; the chosen lot's own
 *  part is drawn at any zoom. */
const LAYERS = [
  {id: "streets", table: "streets", name: "Streets", from: 0, on: true, draw: drawStreets,
   means: "Streets as given, with their names."},
  {id: "water", table: "water", name: "Streams and ponds", from: 0, on: true, draw: fillAll("water-fill", "water-line"),
   means: "Open water as given; a garden keeps its distance."},
  {id: "lots", table: "lots", name: "Lots", from: 0, on: true, fixed: true, draw: drawLots, means: "Every lot of the input."},
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
   means: "The spot, filled; other places kept on the lot, outlined."},
  {id: "downspouts", table: "downspouts", name: "Downspouts", from: 18, on: true, lot: true, draw: drawDownspouts,
   means: "Filled where given; a ring with a question mark where the tool placed it, which is a guess."},
  {id: "inlets", table: "inlets", name: "Inlets", from: 16, on: true, draw: drawInlets, means: "Where the storm drain takes water."},
  {id: "ranks", table: "lots", name: "Ranks", from: 15, on: true, draw: drawRanks,
   means: "The first lots to approach by number; all of them from closer up."},
];

/** Add a shape's rings to a path. */
function trace(path, shapes, f, view, close) {
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
    const path = new Path2D();
    for (const f of found) trace(path, shapes, f, view, shapes.kind === "polygon");
    if (fillName && shapes.kind === "polygon") {
      pen.fillStyle = colour(fillName);
      pen.fill(path, "evenodd");
    }
    pen.strokeStyle = colour(lineName);
    pen.lineWidth = shapes.kind === "line" ? 2 : 1;
    pen.setLineDash(dash || []);
    pen.stroke(path);
    pen.setLineDash([]);
  };
}

function drawLots(pen, shapes, found, view) {
  const fills = new Map();
  const patterns = new Map();
  const lines = new Path2D();
  for (const lot of found) {
    const faded = matching && !matching[lot] ? 1 : 0;
    put(fills, `${lotColour(lot) || ""}|${faded}`, shapes, lot, view);
    if (chosen.colourBy !== "none") put(patterns, `${lotValue("verdict", lot)}|${faded}`, shapes, lot, view);
    trace(lines, shapes, lot, view, true);
  }
  for (const [key, path] of fills) {
    const [name, faded] = key.split("|");
    if (!name) continue;
    pen.globalAlpha = (faded === "1" ? 0.16 : 0.8) * (name === "faint" || name === "out" ? 0.55 : 1);
    pen.fillStyle = colour(name);
    pen.fill(path, "evenodd");
  }
  for (const [key, path] of patterns) {
    const [verdict, faded] = key.split("|");
    const pattern = verdictPattern(pen, verdict);
    if (!pattern || view.zoom < 14) continue;
    pen.globalAlpha = faded === "1" ? 0.12 : 0.75;
    pen.fillStyle = pattern;
    pen.fill(path, "evenodd");
  }
  pen.globalAlpha = 1;
  pen.strokeStyle = colour("lot-line");
  pen.lineWidth = view.zoom >= 17 ? 1 : 0.5;
  pen.stroke(lines);
}

function put(paths, key, shapes, f, view) {
  if (!paths.has(key)) paths.set(key, new Path2D());
  trace(paths.get(key), shapes, f, view, true);
}

/** Outline the chosen lot over everything. */
function drawChosen(pen, view) {
  if (chosen.lot === null) return;
  const path = new Path2D();
  trace(path, tables.lots.shapes, chosen.lot, view, true);
  pen.lineJoin = "round";
  pen.strokeStyle = colour("chosen-halo");
  pen.lineWidth = 7;
  pen.stroke(path);
  pen.strokeStyle = colour("chosen");
  pen.lineWidth = 3;
  pen.stroke(path);
}

/** Text with a halo, so that it reads on any ground. */
function label(pen, text, x, y, size, weight) {
  pen.font = `${weight || 400} ${size}px system-ui, sans-serif`;
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  pen.lineJoin = "round";
  pen.strokeStyle = colour("label-halo");
  pen.lineWidth = 3;
  pen.strokeText(text, x, y);
  pen.fillStyle = colour("label");
  pen.fillText(text, x, y);
}

function drawStreets(pen, shapes, found, view) {
  const path = new Path2D();
  for (const f of found) trace(path, shapes, f, view, false);
  pen.lineCap = "round";
  pen.strokeStyle = colour("street");
  pen.lineWidth = Math.max(1.5, (6 * view.scale) / 40075016);
  pen.globalAlpha = 0.75;
  pen.stroke(path);
  pen.globalAlpha = 1;
  if (view.zoom < 16) return;
  for (const f of found) streetLabel(pen, shapes, f, view);
}

/** Write a street's name along its longest straight piece. */
function streetLabel(pen, shapes, f, view) {
  const name = tables.streets.columns.street[f];
  if (!name) return;
  let longest = 0;
  let at = -1;
  for (let r = shapes.ringOf[f]; r < shapes.ringOf[f + 1]; r++) {
    for (let p = shapes.pointOf[r]; p + 1 < shapes.pointOf[r + 1]; p++) {
      const length = Math.hypot(shapes.x[p + 1] - shapes.x[p], shapes.y[p + 1] - shapes.y[p]) * view.scale;
      if (length > longest) {
        longest = length;
        at = p;
      }
    }
  }
  pen.font = "600 12px system-ui, sans-serif";
  if (at < 0 || longest < pen.measureText(name).width + 10) return;
  const x = ((shapes.x[at] + shapes.x[at + 1]) / 2) * view.scale - view.left;
  const y = ((shapes.y[at] + shapes.y[at + 1]) / 2) * view.scale - view.top;
  let angle = Math.atan2(shapes.y[at + 1] - shapes.y[at], shapes.x[at + 1] - shapes.x[at]);
  if (Math.abs(angle) > Math.PI / 2) angle += Math.PI;
  pen.save();
  pen.translate(x, y);
  pen.rotate(angle);
  label(pen, name, 0, 0, 12, 600);
  pen.restore();
}

function drawFlow(pen, shapes, found, view) {
  const classes = new Map();
  for (const f of found) {
    const area = tables.flow.columns.upslope_m2[f];
    const width = area >= 20000 ? 3.5 : area >= 5000 ? 2.4 : area >= 2000 ? 1.6 : 1;
    if (!classes.has(width)) classes.set(width, new Path2D());
    trace(classes.get(width), shapes, f, view, false);
  }
  pen.strokeStyle = colour("flow");
  pen.lineJoin = "round";
  pen.lineCap = "round";
  for (const [width, path] of classes) {
    if (view.zoom < 16 && width < 2) continue;
    pen.lineWidth = width;
    pen.stroke(path);
  }
}

/** Lines with a pale edge. */
function strokeTwice(pen, path, name, width, dash) {
  pen.lineCap = "round";
  pen.lineJoin = "round";
  pen.strokeStyle = colour("label-halo");
  pen.lineWidth = width + 2;
  pen.stroke(path);
  pen.strokeStyle = colour(name);
  pen.lineWidth = width;
  pen.setLineDash(dash || []);
  pen.stroke(path);
  pen.setLineDash([]);
}

/** Of a lot's leads and paths, those of its spot. */
function ofSpot(table, f) {
  return (tables[table].columns.candidate[f] || 0) === spotOf(tables[table].columns.lot[f]);
}

/** Number of the candidate that is a lot's spot; -1 when it has none. */
function spotOf(lot) {
  if (lot === null) return -1;
  const row = byLot.candidates[lot].find((at) => tables.candidates.columns.chosen[at]);
  return row === undefined ? -1 : tables.candidates.columns.candidate[row];
}

function drawLeads(pen, shapes, found, view) {
  for (const [kind, dash] of [["surface", []], ["shallow", [7, 4]], ["buried", [2, 4]]]) {
    const path = new Path2D();
    for (const f of found) {
      if (tables.leads.columns.lead[f] === kind && ofSpot("leads", f)) trace(path, shapes, f, view, false);
    }
    strokeTwice(pen, path, "lead", 2, dash);
  }
}

function drawOverflow(pen, shapes, found, view) {
  const path = new Path2D();
  const tips = [];
  for (const f of found) {
    if (!ofSpot("overflow_paths", f)) continue;
    trace(path, shapes, f, view, false);
    const last = shapes.pointOf[shapes.ringOf[f + 1]] - 1;
    if (last > shapes.pointOf[shapes.ringOf[f]]) tips.push(last);
  }
  strokeTwice(pen, path, "overflow", 1.6, [5, 4]);
  pen.fillStyle = colour("overflow");
  for (const p of tips) {
    const x = shapes.x[p] * view.scale - view.left;
    const y = shapes.y[p] * view.scale - view.top;
    const angle = Math.atan2(shapes.y[p] - shapes.y[p - 1], shapes.x[p] - shapes.x[p - 1]);
    pen.beginPath();
    pen.moveTo(x + 6 * Math.cos(angle), y + 6 * Math.sin(angle));
    pen.lineTo(x + 5 * Math.cos(angle + 2.4), y + 5 * Math.sin(angle + 2.4));
    pen.lineTo(x + 5 * Math.cos(angle - 2.4), y + 5 * Math.sin(angle - 2.4));
    pen.fill();
  }
}

function drawCandidates(pen, shapes, found, view) {
  const spots = new Path2D();
  const others = new Path2D();
  for (const f of found) trace(tables.candidates.columns.chosen[f] ? spots : others, shapes, f, view, true);
  pen.lineWidth = 1.2;
  pen.strokeStyle = colour("spot-line");
  pen.setLineDash([3, 3]);
  if (view.zoom >= 18) pen.stroke(others);
  pen.setLineDash([]);
  pen.fillStyle = colour("spot");
  pen.fill(spots);
  pen.lineWidth = 1.8;
  pen.stroke(spots);
}

/** Every point of the found shapes, in pixels. */
function eachPoint(shapes, found, view, action) {
  for (const f of found) {
    const p = shapes.pointOf[shapes.ringOf[f]];
    if (shapes.ringOf[f] === shapes.ringOf[f + 1]) continue;
    action(shapes.x[p] * view.scale - view.left, shapes.y[p] * view.scale - view.top, f);
  }
}

function drawDownspouts(pen, shapes, found, view) {
  eachPoint(shapes, found, view, (x, y, f) => {
    const guess = tables.downspouts.columns.placed[f] !== false;
    pen.beginPath();
    pen.arc(x, y, guess ? 6 : 4.5, 0, 2 * Math.PI);
    pen.fillStyle = guess ? colour("label-halo") : colour("lead");
    pen.fill();
    pen.lineWidth = 1.5;
    pen.strokeStyle = guess ? colour("lead") : colour("label-halo");
    pen.setLineDash(guess ? [2, 2] : []);
    pen.stroke();
    pen.setLineDash([]);
    if (!guess) return;
    pen.font = "700 9px system-ui, sans-serif";
    pen.textAlign = "center";
    pen.textBaseline = "middle";
    pen.fillStyle = colour("lead");
    pen.fillText("?", x, y + 0.5);
  });
}

function drawInlets(pen, shapes, found, view) {
  eachPoint(shapes, found, view, (x, y) => {
    pen.fillStyle = colour("label-halo");
    pen.fillRect(x - 5.5, y - 5.5, 11, 11);
    pen.strokeStyle = colour("inlet");
    pen.lineWidth = 1.5;
    pen.strokeRect(x - 4.5, y - 4.5, 9, 9);
    pen.beginPath();
    for (const shift of [-2, 0.5, 3]) {
      pen.moveTo(x + shift, y - 4);
      pen.lineTo(x + shift, y + 4);
    }
    pen.lineWidth = 1;
    pen.stroke();
  });
}

function drawRanks(pen, shapes, found, view) {
  const first = data.rules.visits.value;
  for (const lot of found) {
    const rank = lotValue("rank", lot);
    if (rank === null || (rank > first && view.zoom < 18)) continue;
    if (matching && !matching[lot]) continue;
    const x = ((shapes.boxes[4 * lot] + shapes.boxes[4 * lot + 2]) / 2) * view.scale - view.left;
    const y = ((shapes.boxes[4 * lot + 1] + shapes.boxes[4 * lot + 3]) / 2) * view.scale - view.top;
    label(pen, String(rank), x, y, view.zoom >= 17 ? 14 : 11, 700);
  }
}

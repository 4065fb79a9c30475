// Draws lots, streets, flow lines and ranks.

const AT_ONCE = 200; // shapes in one path: a browser slows down with the square of a path's length

/** Paths by key, each of a limited number of shapes. */
class Paths {
  constructor() {
    this.byKey = new Map();
  }

  add(key, shapes, f, view) {
    let batch = this.byKey.get(key);
    if (!batch) this.byKey.set(key, (batch = {full: [], path: new Path2D(), count: 0}));
    if (batch.count === AT_ONCE) {
      batch.full.push(batch.path);
      batch.path = new Path2D();
      batch.count = 0;
    }
    batch.count += 1;
    trace(batch.path, shapes, f, view, true);
  }

  each(action) {
    for (const [key, batch] of this.byKey) {
      for (const path of [...batch.full, batch.path]) action(key, path);
    }
  }
}

/** Lots too small to see as shapes: a small square each. */
function drawSpecks(pen, shapes, found, view) {
  const byColour = new Map();
  for (const lot of found) {
    const name = `${lotColour(lot) || "lot-line"}|${matching && !matching[lot] ? 1 : 0}`;
    if (!byColour.has(name)) byColour.set(name, []);
    byColour.get(name).push(lot);
  }
  for (const [key, lots] of byColour) {
    const [name, faded] = key.split("|");
    pen.globalAlpha = faded === "1" ? 0.12 : 0.85;
    pen.fillStyle = colour(name);
    for (const lot of lots) {
      const west = shapes.boxes[4 * lot] * view.scale - view.left;
      const north = shapes.boxes[4 * lot + 1] * view.scale - view.top;
      const east = shapes.boxes[4 * lot + 2] * view.scale - view.left;
      const south = shapes.boxes[4 * lot + 3] * view.scale - view.top;
      pen.fillRect(west, north, Math.max(1, east - west), Math.max(1, south - north));
    }
  }
  pen.globalAlpha = 1;
}

function drawLots(pen, shapes, found, view) {
  if (view.zoom < 13.5 && found.length > 500) {
    drawSpecks(pen, shapes, found, view);
    return;
  }
  const [fills, patterns, lines] = [new Paths(), new Paths(), new Paths()];
  for (const lot of found) {
    const faded = matching && !matching[lot] ? 1 : 0;
    const name = lotColour(lot);
    if (name) fills.add(`${name}|${faded}`, shapes, lot, view);
    if (view.zoom >= 14 && patternShown(lot)) patterns.add(`${lotValue("verdict", lot)}|${faded}`, shapes, lot, view);
    lines.add("", shapes, lot, view);
  }
  fills.each((key, path) => {
    const [name, faded] = key.split("|");
    const strong = view.zoom >= 19 ? 0.5 : 0.8;
    pen.globalAlpha = (faded === "1" ? 0.16 : strong) * (name === "faint" || name === "out" ? 0.55 : 1);
    pen.fillStyle = colour(name);
    pen.fill(path, "evenodd");
  });
  patterns.each((key, path) => {
    const [verdict, faded] = key.split("|");
    const pattern = verdictPattern(pen, verdict, view);
    if (!pattern) return;
    pen.globalAlpha = faded === "1" ? 0.12 : view.zoom >= 19 ? 0.45 : 0.75;
    pen.fillStyle = pattern;
    pen.fill(path, "evenodd");
  });
  pen.globalAlpha = 1;
  pen.strokeStyle = colour("lot-line");
  pen.lineWidth = view.zoom >= 17 ? 1 : 0.5;
  lines.each((key, path) => pen.stroke(path));
}

/** Whether a lot's pattern is drawn: where limits are told, only on lots that they rule out beyond doubt. */
function patternShown(lot) {
  if (chosen.colourBy !== "limit") return chosen.colourBy !== "none";
  return lotValue("verdict", lot) === "ruled out" && !lotValue("near_pass", lot);
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

/** Write a street's name at the middle of its longest line, turned as the line runs there. */
function streetLabel(pen, shapes, f, view) {
  const name = tables.streets.columns.street[f];
  if (!name) return;
  pen.font = "600 12px system-ui, sans-serif";
  const room = pen.measureText(name).width;
  let longest = [];
  for (let r = shapes.ringOf[f]; r < shapes.ringOf[f + 1]; r++) {
    const along = lengthsAlong(shapes, r, view.scale);
    if (!longest.length || along[along.length - 1] > longest[longest.length - 1]) {
      longest = along;
      longest.ring = r;
    }
  }
  const length = longest[longest.length - 1];
  if (!(length > room + 10)) return;
  const [x0, y0] = pointAlong(shapes, longest, (length - room) / 2);
  const [x1, y1] = pointAlong(shapes, longest, (length + room) / 2);
  if (Math.hypot(x1 - x0, y1 - y0) * view.scale < 0.9 * room) return; // too crooked to write along
  let angle = Math.atan2(y1 - y0, x1 - x0);
  if (Math.abs(angle) > Math.PI / 2) angle += Math.PI;
  pen.save();
  pen.translate(((x0 + x1) / 2) * view.scale - view.left, ((y0 + y1) / 2) * view.scale - view.top);
  pen.rotate(angle);
  label(pen, name, 0, 0, 12, 600);
  pen.restore();
}

/** Length of a line up to each of its points, in pixels. */
function lengthsAlong(shapes, ring, scale) {
  const out = [0];
  for (let p = shapes.pointOf[ring] + 1; p < shapes.pointOf[ring + 1]; p++) {
    out.push(out[out.length - 1] + Math.hypot(shapes.x[p] - shapes.x[p - 1], shapes.y[p] - shapes.y[p - 1]) * scale);
  }
  return out;
}

/** The point so far along a line, in world coordinates. */
function pointAlong(shapes, along, wanted) {
  const first = shapes.pointOf[along.ring];
  const at = Math.max(1, along.findIndex((length) => length >= wanted));
  const share = (wanted - along[at - 1]) / (along[at] - along[at - 1] || 1);
  const p = first + at;
  return [shapes.x[p - 1] + share * (shapes.x[p] - shapes.x[p - 1]), shapes.y[p - 1] + share * (shapes.y[p] - shapes.y[p - 1])];
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
    if (view.zoom < 17 && width < 1.5) continue;
    pen.lineWidth = view.zoom < 17 ? 0.6 * width : width;
    pen.stroke(path);
  }
}

function drawRanks(pen, shapes, found, view) {
  for (const lot of found) {
    const rank = lotValue("rank", lot);
    if (rank === null || (!visited[lot] && view.zoom < 18)) continue;
    if (matching && !matching[lot]) continue;
    const x = ((shapes.boxes[4 * lot] + shapes.boxes[4 * lot + 2]) / 2) * view.scale - view.left;
    const y = ((shapes.boxes[4 * lot + 1] + shapes.boxes[4 * lot + 3]) / 2) * view.scale - view.top;
    const size = view.zoom >= 17 ? 14 : 11;
    const room = (shapes.boxes[4 * lot + 2] - shapes.boxes[4 * lot]) * view.scale;
    if (rank > 3 && room < 0.62 * size * String(rank).length) continue;
    label(pen, String(rank), x, y, size, 700);
  }
}

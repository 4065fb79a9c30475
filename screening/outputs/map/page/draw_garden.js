// Draws what belongs to a garden: leads, overflow, places, downspouts; and inlets.

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
  const row = rowsOf("candidates", lot).find(isSpot);
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

/** A garden's outline, as large as it is under the rules tried out. */
function traceGarden(path, shapes, f, view) {
  const grown = judged ? Math.sqrt(gardenTried("ponding_area_m2", f) / tables.candidates.columns.ponding_area_m2[f]) : 1;
  if (grown === 1) {
    trace(path, shapes, f, view, true);
    return;
  }
  const x = (shapes.boxes[4 * f] + shapes.boxes[4 * f + 2]) / 2;
  const y = (shapes.boxes[4 * f + 1] + shapes.boxes[4 * f + 3]) / 2;
  for (let p = shapes.pointOf[shapes.ringOf[f]]; p < shapes.pointOf[shapes.ringOf[f + 1]]; p++) {
    const to = [(x + grown * (shapes.x[p] - x)) * view.scale - view.left, (y + grown * (shapes.y[p] - y)) * view.scale - view.top];
    if (p === shapes.pointOf[shapes.ringOf[f]]) path.moveTo(...to);
    else path.lineTo(...to);
  }
  path.closePath();
}

function drawCandidates(pen, shapes, found, view) {
  const spots = new Path2D();
  const others = new Path2D();
  for (const f of found) {
    if (isSpot(f)) traceGarden(spots, shapes, f, view);
    else if (tables.candidates.columns.lot[f] === chosen.lot) traceGarden(others, shapes, f, view);
  }
  strokeTwice(pen, others, "spot-line", 1.2, [3, 3]);
  pen.strokeStyle = colour("spot-line");
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
  const half = view.zoom >= 18 ? 4.5 : view.zoom >= 17 ? 3.5 : 2.5;
  eachPoint(shapes, found, view, (x, y) => {
    pen.fillStyle = colour("label-halo");
    pen.fillRect(x - half - 1, y - half - 1, 2 * half + 2, 2 * half + 2);
    pen.strokeStyle = colour("inlet");
    pen.lineWidth = half > 3 ? 1.5 : 1;
    pen.strokeRect(x - half, y - half, 2 * half, 2 * half);
    pen.beginPath();
    for (const shift of [-half / 2, 0, half / 2]) {
      pen.moveTo(x + shift, y - half);
      pen.lineTo(x + shift, y + half);
    }
    pen.lineWidth = 1;
    pen.stroke();
  });
}

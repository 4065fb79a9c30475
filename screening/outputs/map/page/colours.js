// Colours and patterns, read from the page's style so that light and dark need no second list.

const colourCache = {};

function colour(name) {
  if (!(name in colourCache)) {
    colourCache[name] = getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();
  }
  return colourCache[name];
}

function forgetColours() {
  for (const name of Object.keys(colourCache)) delete colourCache[name];
  patternCache.clear();
}

const patternCache = new Map();

/** A pattern to lay over a lot for its verdict: dots, slanted lines, crossed lines; null for approach. */
function verdictPattern(context, verdict, view) {
  const key = verdict;
  if (verdict === "approach") return null;
  const scale = window.devicePixelRatio || 1;
  if (!patternCache.has(key)) {
    const size = Math.round((verdict === "test soil first" ? 7 : 8) * scale);
    const tile = document.createElement("canvas");
    tile.width = size;
    tile.height = size;
    drawPattern(tile.getContext("2d"), verdict, size, scale);
    patternCache.set(key, tile);
  }
  const side = patternCache.get(key).width / scale;
  const pattern = context.createPattern(patternCache.get(key), "repeat");
  pattern.setTransform(new DOMMatrix().translate(-(view.left % side), -(view.top % side)).scale(1 / scale));
  return pattern;
}

function drawPattern(pen, verdict, size, scale) {
  pen.strokeStyle = verdict === "ruled out" ? colour("hatch-out") : colour("hatch");
  pen.fillStyle = colour("hatch");
  pen.lineWidth = 1.1 * scale;
  if (verdict === "test soil first") {
    pen.beginPath();
    pen.arc(size / 2, size / 2, 1.2 * scale, 0, 2 * Math.PI);
    pen.fill();
    return;
  }
  pen.beginPath();
  for (const shift of [-size, 0, size]) {
    pen.moveTo(shift, size);
    pen.lineTo(shift + size, 0);
    if (verdict === "ruled out") {
      pen.moveTo(shift, 0);
      pen.lineTo(shift + size, size);
    }
  }
  pen.stroke();
}

/** A small sample of a lot's colour and pattern, for lists and legends. */
function swatch(classNumber, verdict) {
  const names = ["swatch", `class-${classNumber}`];
  if (verdict) names.push(`verdict-${VERDICT_CLASS[verdict]}`);
  return make("span", {class: names.join(" "), "aria-hidden": "true"});
}

/** Deciding limits of ruled-out lots, the commonest first. */
function limitOrder() {
  if (!limitOrder.found) {
    const counts = new Map();
    for (let lot = 0; lot < lotCount; lot++) {
      if (lotValue("verdict", lot) !== "ruled out") continue;
      const code = lotValue("deciding_limit", lot);
      counts.set(code, (counts.get(code) || 0) + 1);
    }
    limitOrder.found = [...counts].sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1));
  }
  return limitOrder.found;
}

function limitColour(code) {
  const place = limitOrder().findIndex(([other]) => other === code);
  return place < 0 ? null : `limit-${Math.min(place, 5) + 1}`;
}

/** The colour of a lot's fill under the present choice, by its name in the style. */
function lotColour(lot) {
  if (chosen.colourBy === "soil") {
    const group = lotValue("hsg", lot);
    if (group === null || group === "unknown") return "soil-unknown";
    return `soil-${group.slice(-1).toLowerCase()}`;
  }
  if (chosen.colourBy === "limit") {
    return lotValue("verdict", lot) === "ruled out" ? limitColour(lotValue("deciding_limit", lot)) : "faint";
  }
  if (chosen.colourBy === "inlet") return inletShade(lotValue("inlet", lot));
  if (chosen.colourBy === "none") return null;
  const place = classOf(lot);
  return place ? `class-${place}` : "out";
}

// What a person notes in the season: lots ticked for a visit, and rows of the field file. It stays in this browser until it
// is saved as a file.

const EVENT_WORDS = {
  "approach": "Letter, knock or call without an answer", "call": "The household answered", "visit": "Somebody was there",
  "status": "How far it has come",
};
const STATUSES = ["applied", "approved before digging", "built", "inspected", "paid", "refused", "not to be contacted"];

let notes = {ticked: [], rows: []};

function notesKey() {
  return `garden notes: ${data.title}`;
}

/** Read what this browser kept; a browser that keeps nothing is no fault. */
function readNotes() {
  try {
    const kept = JSON.parse(localStorage.getItem(notesKey()) || "null");
    if (kept) {
      const known = new Set(tables.lots.columns.lot_id.distinct());
      notes = {ticked: kept.ticked.filter((id) => known.has(id)), rows: kept.rows.filter((row) => known.has(row.lot))};
    }
  } catch {
    notes = {ticked: [], rows: []};
  }
}

function keepNotes() {
  try {
    localStorage.setItem(notesKey(), JSON.stringify(notes));
  } catch {
    say("This browser keeps nothing: save your notes as a file.");
  }
  changed("notes");
}

function isTicked(lot) {
  return notes.ticked.includes(lotValue("lot_id", lot));
}

function tick(lot, on) {
  const id = lotValue("lot_id", lot);
  notes.ticked = notes.ticked.filter((other) => other !== id);
  if (on) notes.ticked.push(id);
  keepNotes();
}

/** The panel's part: a tick, the rows noted, and a form for one more. */
function noteSection(lot) {
  const id = lotValue("lot_id", lot);
  const box = make("input", {type: "checkbox", id: "tick", on: {change: () => tick(lot, box.checked)}});
  box.checked = isTicked(lot);
  const what = make("select", {id: "note-what"}, Object.entries(EVENT_WORDS).map(([value, words]) => make("option", {value}, words)));
  const status = make("select", {id: "note-status"}, STATUSES.map((value) => make("option", {value}, opening(value))));
  const statusRow = make("div", {class: "filter", hidden: true}, make("label", {for: "note-status"}, "Status"), status);
  what.addEventListener("change", () => (statusRow.hidden = what.value !== "status"));
  const date = make("input", {type: "date", id: "note-date"});
  date.value = today();
  const text = make("input", {type: "text", id: "note-text", maxlength: 500});
  const put = () => {
    if (!date.value) return say("Give the day");
    const row = {lot: id, what: what.value, date: date.value, note: text.value.trim()};
    if (what.value === "status") row.status = status.value;
    notes.rows.push(row);
    keepNotes();
    find("note-text")?.focus();
  };
  return section("Your notes",
    make("p", {}, box, " ", make("label", {for: "tick"}, "To be visited this season")),
    notes.rows.filter((row) => row.lot === id).map((row) => make("p", {class: "noted"}, `${row.date}: ${row.status || EVENT_WORDS[row.what]}${row.note ? `. ${row.note}` : ""} `,
      make("button", {type: "button", class: "plain-button", on: {click: () => dropRow(row)}}, "Remove"))),
    make("div", {class: "note-form"},
      make("div", {class: "filter"}, make("label", {for: "note-what"}, "What happened"), what), statusRow,
      make("div", {class: "filter"}, make("label", {for: "note-date"}, "Day"), date),
      make("div", {class: "filter"}, make("label", {for: "note-text"}, "Note, no names"), text),
      make("button", {type: "button", id: "note-add", on: {click: put}}, "Note it")));
}

function dropRow(row) {
  notes.rows = notes.rows.filter((other) => other !== row);
  keepNotes();
}

function today() {
  const now = new Date();
  return `${now.getFullYear()}-${String(now.getMonth() + 1).padStart(2, "0")}-${String(now.getDate()).padStart(2, "0")}`;
}

function makeSeasonPanel() {
  return [
    make("p", {class: "lead-in"}, "Lots ticked for a visit, and what you noted. Notes stay in this browser on this machine; save them, and name the field file in the area file under [field]: the next run reads it."),
    make("div", {class: "button-row"},
      make("button", {type: "button", id: "save-visits", on: {click: saveVisits}}, "Save visits (CSV)"),
      make("button", {type: "button", id: "save-field", on: {click: saveField}}, "Save field file (CSV)"),
      make("button", {type: "button", id: "save-geojson", on: {click: saveFieldPlaces}}, "Save field file (GeoJSON)")),
    make("div", {id: "season-list"}),
  ];
}

/** Ticked lots in the order of rank. */
function tickedLots() {
  const ids = tables.lots.columns.lot_id;
  return notes.ticked.map((id) => ids.indexOf(id)).sort((a, b) => (lotValue("rank", a) ?? Infinity) - (lotValue("rank", b) ?? Infinity) || a - b);
}

function noteCount(count) {
  return count === 1 ? "1 note" : `${count || "no"} notes`;
}

function drawSeason() {
  const lots = tickedLots();
  const noted = [...new Set(notes.rows.map((row) => row.lot))].filter((id) => !notes.ticked.includes(id)).map((id) => tables.lots.columns.lot_id.indexOf(id));
  const line = (lot) => make("li", {}, make("button", {type: "button", class: "lot-button", on: {click: () => select(lot, "list")}}, lotName(lot)),
    `: ${noteCount(notes.rows.filter((row) => row.lot === lotValue("lot_id", lot)).length)}`);
  fill(find("season-list"),
    make("h2", {}, lots.length ? `To be visited: ${lots.length}` : "No lot is ticked yet"), make("ul", {class: "plain-list"}, lots.map(line)),
    noted.length ? [make("h2", {}, "Noted, not ticked"), make("ul", {class: "plain-list"}, noted.map(line))] : null);
}

/** A cell of a CSV file that no spreadsheet runs as a formula. */
function csvCell(value) {
  let text = value === null || value === undefined ? "" : String(value);
  if (typeof value !== "number" && /^'*\s*[=+\-@\t\r\n]/.test(text)) text = `'${text}`;
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

function csvText(heads, rows) {
  return [heads, ...rows].map((row) => row.map(csvCell).join(",")).join("\n") + "\n";
}

function saveVisits() {
  const rows = tickedLots().map((lot) => [lotValue("lot_id", lot), lotValue("address", lot), lotValue("street", lot), lotValue("rank", lot), lotValue("verdict", lot), stepWords(lot)]);
  saveFile("visits.csv", "text/csv", csvText(["lot", "address", "street", "rank", "verdict", "next_step"], rows));
}

const FIELD_COLUMNS = ["lot", "what", "date", "status", "note"];

function saveField() {
  saveFile("field.csv", "text/csv", csvText(FIELD_COLUMNS, notes.rows.map((row) => FIELD_COLUMNS.map((name) => row[name]))));
}

function saveFieldPlaces() {
  const features = notes.rows.map((row) => {
    const lot = tables.lots.columns.lot_id.indexOf(row.lot);
    const at = boundsOfLots([lot]).getCenter();
    const properties = Object.fromEntries(FIELD_COLUMNS.map((name) => [name, row[name] ?? null]));
    return {type: "Feature", properties, geometry: {type: "Point", coordinates: [Number(at.lng.toFixed(6)), Number(at.lat.toFixed(6))]}};
  });
  saveFile("field.geojson", "application/geo+json", JSON.stringify({type: "FeatureCollection", features}));
}

/** Hand a file to the person. */
function saveFile(name, type, text) {
  const url = URL.createObjectURL(new Blob([text], {type}));
  const link = make("a", {href: url, download: name});
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(url), 1000);
}

// Figures of the candidates that limits and sizes depend on. Those of one candidate lie side by side, as what is asked of it is
// asked at once: a large area has a million. They are held as whole steps, and told from these as exactly as the run told them.

/** Columns side by side: whole steps row by row, and how many steps make one of each column. */
class SideBySide {
  constructor(rows, wide) {
    this.wide = wide;
    this.of = new Int32Array(rows * wide);
    this.per = new Float64Array(wide).fill(1);
  }

  /** Read a column of a table into its place. */
  read(table, name, place) {
    this.per[place] = stepOf(table.described[name])[0];
    putSteps(table.described[name], table.numbers(name), this.of, place, this.wide);
  }

  /** The value in a row and place, NaN where missing. */
  at(row, place) {
    return told(this.of[row * this.wide + place], this.per[place]);
  }
}

// what is asked of each candidate that may come first: sixteen numbers, as many as one line of the processor's memory holds
const [SLOPE, AREA, ROOM, PONDING, ERROR, GROUND, DROP, LOW, MARGIN, KEPT, ASPECT, MOST, WATER_TABLE, BEDROCK, REST, STANDING] = Array(16).keys();
const COMPARED = [
  "slope_pct", "draining_area_m2", "room_m2", "ponding_area_m2", "fall_error_m", "ground_m", "drop_m", "lip_low_m", "fall_margin_m", "kept_of_lot_share",
  "aspect", "capture_most_mm", "water_table_m", "bedrock_m",
];
const COMPARED_WIDE = 16;

// what is asked of a lot's first candidate only
const [HELD, LIP, FALL, NEEDED, DRAIN_REACH, RUN, KSAT, RUN_ON, BESIDE, SOIL_WORTH, RUN_WORTH, SIDE_WORTH] = Array(12).keys();
const OF_FIRST = ["capture_depth_mm", "lip_m", "fall_m", "fall_needed_m", "kept_share", "run_m", "ksat_um_s", "run_on_m3"];
const FIRST_WIDE = 12;

/** Read one more column of the figures; false when all are read. */
function readFigures() {
  const table = tables.candidates;
  const made = readFigures.made = readFigures.made || {
    compared: new SideBySide(table.rows, COMPARED_WIDE), first: new SideBySide(table.rows, FIRST_WIDE), lot: null, read: 0,
  };
  const at = made.read;
  if (at < COMPARED.length) made.compared.read(table, COMPARED[at], at);
  else if (at < COMPARED.length + OF_FIRST.length) made.first.read(table, OF_FIRST[at - COMPARED.length], at - COMPARED.length);
  else if (!made.lot) made.lot = table.steps("lot").of;
  else return false;
  made.read += 1;
  return true;
}

/** The figures of the candidates, and the lot of each. */
function candidateFigures() {
  while (readFigures());
  return readFigures.made;
}

/** What whole steps tell, NaN where missing. */
function told(steps, per) {
  return steps === MISSING ? NaN : steps / per;
}

/** A figure of a candidate by its column, NaN where missing. */
function candidateFigure(column, i) {
  const c = candidateFigures();
  if (COMPARED.includes(column)) return c.compared.at(i, COMPARED.indexOf(column));
  if (OF_FIRST.includes(column)) return c.first.at(i, OF_FIRST.indexOf(column));
  return tables.candidates.steps(column).at(i);
}

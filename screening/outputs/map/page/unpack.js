// Reads the page's data: sections of whole numbers, gzipped, and the tables and shapes that point into them.

/** Bytes of base64 text. */
function bytesOf(text) {
  const raw = atob(text);
  const bytes = new Uint8Array(raw.length);
  for (let at = 0; at < raw.length; at++) bytes[at] = raw.charCodeAt(at);
  return bytes;
}

async function unzip(bytes) {
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  return new Uint8Array(await new Response(stream).arrayBuffer());
}

/** Sections by number; each is read when it is first asked for. */
function sectionsOf(directory, bytes) {
  const starts = [];
  let start = 0;
  for (const [, size] of directory) {
    starts.push(start);
    start += size;
  }
  return (number) => {
    const out = new Float64Array(directory[number][0]);
    let at = starts[number];
    for (let n = 0; n < out.length; n++) {
      let value = bytes[at++];
      if (value > 127) {
        value &= 127;
        let scale = 128;
        let byte;
        do {
          byte = bytes[at++];
          value += (byte & 127) * scale;
          scale *= 128;
        } while (byte > 127);
      }
      out[n] = value;
    }
    return out;
  };
}

/** Undo the zigzag: 0, 1, 2, 3 to 0, -1, 1, -2. */
function signed(value) {
  const half = Math.floor(value / 2); // a remainder of numbers that are not known to be small takes many times longer
  return value > 2 * half ? -half - 1 : half;
}

/** Values of a column, null where missing. */
function columnValues(column, numbers, words) {
  const out = new Array(numbers.length);
  const stepsInOne = column.step && column.step < 1 ? Math.round(1 / column.step) : 0;
  for (let n = 0; n < numbers.length; n++) {
    const value = numbers[n];
    if (value === 0) out[n] = null;
    else if (column.dtype === "text") out[n] = words[column.words][value - 1];
    else if (column.dtype === "flag") out[n] = value === 2;
    else if (column.dtype === "lot") out[n] = value - 1;
    else if (stepsInOne) out[n] = signed(value - 1) / stepsInOne;
    else out[n] = signed(value - 1) * (column.step || 1);
  }
  return out;
}

const MISSING = -(2 ** 31);

/** Steps in one, 1 where a step is no part of one; and what a step is then. */
function stepOf(column) {
  const per = column.step && column.step < 1 ? Math.round(1 / column.step) : 1;
  return [per, per > 1 ? 1 : column.step || 1];
}

/** Put a column's values into `out` as whole steps, in place `first` and every `apart` from there. */
function putSteps(column, numbers, out, first, apart) {
  const step = stepOf(column)[1];
  const counted = column.dtype === "flag" || column.dtype === "lot";
  for (let n = 0, at = first; n < numbers.length; n++, at += apart) {
    const value = numbers[n];
    out[at] = value === 0 ? MISSING : counted ? value - 1 : signed(value - 1) * step;
  }
}

/** A column of numbers as whole steps of it: four bytes a row. */
class Steps {
  constructor(column, numbers) {
    this.per = stepOf(column)[0];
    this.of = new Int32Array(numbers.length);
    putSteps(column, numbers, this.of, 0, 1);
  }

  /** The value in a row, NaN where missing. */
  at(row) {
    const steps = this.of[row];
    return steps === MISSING ? NaN : steps / this.per;
  }
}

/** A column of text as numbers of its words, 0 where missing. */
class Words {
  constructor(numbers, words) {
    this.of = (words.length < 65536 ? Uint16Array : Uint32Array).from(numbers);
    this.words = words;
  }

  at(row) {
    return this.of[row] ? this.words[this.of[row] - 1] : null;
  }
}

/** A column of a large table: told by its rows, nothing made of those that nobody asks for. */
class LongColumn {
  constructor(column, numbers, words) {
    this.length = numbers.length;
    this.text = column.dtype === "text";
    this.flag = column.dtype === "flag";
    this.held = this.text ? new Words(numbers, words[column.words]) : new Steps(column, numbers);
  }

  /** The value in a row, null where missing. */
  at(row) {
    if (this.text) return this.held.at(row);
    const value = this.held.at(row);
    return Number.isNaN(value) ? null : this.flag ? value === 1 : value;
  }

  indexOf(value) {
    const number = this.held.words.indexOf(value) + 1;
    return number ? this.held.of.indexOf(number) : -1;
  }

  /** Values that occur, in order; null among them where one is missing. */
  distinct() {
    const found = this.text ? this.held.words.slice() : [...new Set(this.held.of)].filter((steps) => steps !== MISSING).map((steps) => steps / this.held.per);
    if (this.held.of.includes(this.text ? 0 : MISSING)) found.push(null);
    return found;
  }
}

/** World coordinates, x and y in one array each, of points told in steps from a layer's middle. */
function placeInWorld(described, east, north) {
  const {degree, half, world} = described;
  const place = (terms) => {
    const out = new Float64Array(east.length);
    for (let at = 0; at < out.length; at++) {
      const u = east[at] / half;
      const v = north[at] / half;
      let term = terms.length;
      let sum = 0;
      for (let i = degree; i >= 0; i--) {
        let inner = 0;
        for (let j = degree - i; j >= 0; j--) inner = inner * v + terms[--term];
        sum = sum * u + inner;
      }
      out[at] = sum;
    }
    return out;
  };
  return [place(world[0]), place(world[1])];
}

/** Points around ellipses, enough of them to stay within 1 cm, and how many each has. */
function pointsOfEllipses(described, middleEast, middleNorth, axes) {
  const count = middleEast.length;
  const sizes = new Float64Array(count);
  for (let e = 0; e < count; e++) {
    const [a, b, c, d] = [0, 1, 2, 3].map((n) => signed(axes[4 * e + n]));
    const long = Math.max(Math.hypot(a, b), Math.hypot(c, d));
    sizes[e] = Math.max(12, Math.ceil(Math.PI / Math.acos(1 - Math.min(1, (0.01 * described.steps) / long))));
  }
  const total = sizes.reduce((sum, size) => sum + size, 0);
  const east = new Float64Array(total);
  const north = new Float64Array(total);
  for (let e = 0, at = 0; e < count; e++) {
    const [a, b, c, d] = [0, 1, 2, 3].map((n) => signed(axes[4 * e + n]));
    for (let n = 0; n < sizes[e]; n++, at++) {
      const turn = (2 * Math.PI * n) / sizes[e];
      east[at] = middleEast[e] + a * Math.cos(turn) + c * Math.sin(turn);
      north[at] = middleNorth[e] + b * Math.cos(turn) + d * Math.sin(turn);
    }
  }
  return [east, north, sizes];
}

/** Shapes in world coordinates: the whole world is 1 wide in Web Mercator. */
function readShapes(described, section) {
  const counts = section(described.counts);
  let sizes = section(described.sizes);
  const moves = section(described.moves);
  const n = counts.length;
  let east = new Float64Array(moves.length / 2);
  let north = new Float64Array(moves.length / 2);
  let atEast = 0;
  let atNorth = 0;
  for (let at = 0; at < east.length; at++) {
    east[at] = atEast += signed(moves[2 * at]);
    north[at] = atNorth += signed(moves[2 * at + 1]);
  }
  if (described.axes !== undefined) {
    [east, north, sizes] = pointsOfEllipses(described, east, north, section(described.axes));
  }
  const [x, y] = placeInWorld(described, east, north);
  const ringOf = new Uint32Array(n + 1);
  for (let f = 0; f < n; f++) ringOf[f + 1] = ringOf[f] + counts[f];
  const pointOf = new Uint32Array(sizes.length + 1);
  for (let r = 0; r < sizes.length; r++) pointOf[r + 1] = pointOf[r] + sizes[r];
  return {kind: described.kind, n, x, y, ringOf, pointOf, boxes: boxesOf(n, x, y, ringOf, pointOf)};
}

/** West, north, east, south of each shape in world coordinates; an empty one has an inverted box. */
function boxesOf(n, x, y, ringOf, pointOf) {
  const boxes = new Float64Array(4 * n);
  for (let f = 0; f < n; f++) {
    let west = Infinity, north = Infinity, east = -Infinity, south = -Infinity;
    for (let p = pointOf[ringOf[f]]; p < pointOf[ringOf[f + 1]]; p++) {
      if (x[p] < west) west = x[p];
      if (x[p] > east) east = x[p];
      if (y[p] < north) north = y[p];
      if (y[p] > south) south = y[p];
    }
    boxes.set([west, north, east, south], 4 * f);
  }
  return boxes;
}

/** Tables by name: {rows, columns: {name: values}, steps and numbers: name to whole numbers, described: {name: column}, shapes}; the
 *  columns of the lots are asked by their rows. */
function readTables(data, bytes) {
  const section = sectionsOf(data.sections, bytes);
  const end = data.sections.reduce((sum, [, size]) => sum + size, 0);
  const words = JSON.parse(new TextDecoder().decode(bytes.subarray(end)));
  const tables = {};
  for (const [name, described] of Object.entries(data.tables)) {
    const table = {rows: described.rows, columns: {}, described: {}, shapes: null};
    const numbersOf = (column) => {
      const numbers = section(column.section);
      if (!column.less) return numbers;
      const less = numbersOf(table.described[column.less]);
      for (let n = 0; n < numbers.length; n++) {
        const steps = signed(numbers[n] - 1) + signed(less[n] - 1);
        numbers[n] = (steps < 0 ? -2 * steps - 1 : 2 * steps) + 1;
      }
      return numbers;
    };
    const asSteps = {};
    table.steps = (name) => (asSteps[name] = asSteps[name] || new Steps(table.described[name], numbersOf(table.described[name])));
    table.numbers = (name) => numbersOf(table.described[name]);
    table.words = (name) => new Words(section(table.described[name].section), words[table.described[name].words]);
    for (const column of described.columns) {
      table.described[column.name] = column;
      let values = null;
      Object.defineProperty(table.columns, column.name, {
        enumerable: true,
        get: () => (values = values || (name === "lots" ? new LongColumn(column, section(column.section), words) : columnValues(column, numbersOf(column), words))),
      });
    }
    if (described.shapes) table.shapes = readShapes(described.shapes, section);
    tables[name] = table;
  }
  return tables;
}

/** Rows of a table by lot: for each lot's number its row numbers; null when the page has no such table. */
function rowsByLot(table, lots) {
  if (!table) return null;
  const out = Array.from({length: lots}, () => []);
  if (table.columns.lot) {
    table.columns.lot.forEach((lot, row) => {
      if (lot !== null) out[lot].push(row);
    });
  }
  return out;
}

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
      let value = 0;
      let scale = 1;
      let byte;
      do {
        byte = bytes[at++];
        value += (byte & 127) * scale;
        scale *= 128;
      } while (byte > 127);
      out[n] = value;
    }
    return out;
  };
}

/** Undo the zigzag: 0, 1, 2, 3 to 0, -1, 1, -2. */
function signed(value) {
  return value % 2 ? -(value + 1) / 2 : value / 2;
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

/** A column as numbers: its values, 1 and 0 for flags, missing ones NaN. */
function columnNumbers(column, numbers) {
  const out = new Float64Array(numbers.length);
  const stepsInOne = column.step && column.step < 1 ? Math.round(1 / column.step) : 0;
  for (let n = 0; n < numbers.length; n++) {
    const value = numbers[n];
    if (value === 0) out[n] = NaN;
    else if (column.dtype === "flag") out[n] = value - 1;
    else if (column.dtype === "lot") out[n] = value - 1;
    else if (stepsInOne) out[n] = signed(value - 1) / stepsInOne;
    else out[n] = signed(value - 1) * (column.step || 1);
  }
  return out;
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

/** Tables by name: {rows, columns: {name: values}, described: {name: column}, shapes}. */
function readTables(data, bytes) {
  const section = sectionsOf(data.sections, bytes);
  const end = data.sections.reduce((sum, [, size]) => sum + size, 0);
  const words = JSON.parse(new TextDecoder().decode(bytes.subarray(end)));
  const tables = {};
  for (const [name, described] of Object.entries(data.tables)) {
    const table = {rows: described.rows, columns: {}, described: {}, shapes: null};
    const asNumbers = {};
    table.numbers = (name) => (asNumbers[name] = asNumbers[name] || columnNumbers(table.described[name], section(table.described[name].section)));
    for (const column of described.columns) {
      table.described[column.name] = column;
      let values = null;
      Object.defineProperty(table.columns, column.name, {
        enumerable: true,
        get: () => (values = values || columnValues(column, section(column.section), words)),
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

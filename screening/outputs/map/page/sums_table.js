// Tables of sums, by street and by inlet: each row a name to pick, sorted by any column, bars for what could be kept.

/** Draw a table anew.
 *  A column has a key, a name, perhaps a unit, and gives the value that a row is sorted by and its text; the first has
 *  `names`, one may have `bar`. `rows` are the numbers of the rows shown, `isOn` tells whether a row is picked, `pick` picks it or lets it go. */
function drawSums(table, caption, columns, sort, rows, redraw, {isOn, pick}) {
  const barred = columns.find((column) => column.bar);
  const most = rows.reduce((most, row) => Math.max(most, barred.value(row) || 0), 1e-9);
  fill(table,
    make("caption", {class: "unseen"}, caption),
    make("thead", {}, make("tr", {}, columns.map((column) => sumsHead(column, sort, redraw)))),
    make("tbody", {}, sumsOrder(rows, columns, sort).map((row) => {
      const on = isOn(row);
      return make("tr", {class: on ? "chosen" : null}, columns.map((column) => sumsCell(column, row, most, on, pick)));
    })));
}

function sumsCell(column, row, most, on, pick) {
  if (column.names) {
    return make("th", {scope: "row"}, make("button", {type: "button", class: "lot-button", "aria-pressed": on ? "true" : "false", on: {click: () => pick(row, on)}}, column.text(row)));
  }
  const bar = column.bar ? make("span", {class: "bar"}, make("span", {class: "bar-part"})) : null;
  if (bar) bar.firstChild.style.width = `${(100 * (column.value(row) || 0)) / most}%`;
  return make("td", {class: "number"}, column.text(row) || "", bar);
}

/** The head of a column; a click sorts by it, another the other way round. */
function sumsHead(column, sort, redraw) {
  const on = sort.by === column.key;
  return make("th", {scope: "col", class: column.names ? null : "number", "aria-sort": on ? (sort.down ? "descending" : "ascending") : null},
    make("button", {type: "button", on: {click: () => {
      Object.assign(sort, {by: column.key, down: on ? !sort.down : !column.names});
      redraw();
    }}}, column.name, column.unit ? make("small", {}, ` ${unitWord(column.unit)}`) : null, make("span", {class: "arrow", "aria-hidden": "true"}, on ? (sort.down ? "▼" : "▲") : "")));
}

/** Rows as sorted, missing values as the least, equal ones in the table's order. */
function sumsOrder(rows, columns, sort) {
  const column = columns.find((one) => one.key === sort.by);
  const values = new Map(rows.map((row) => [row, column.value(row) ?? -1]));
  return rows.slice().sort((a, b) => {
    const [x, y] = [values.get(a), values.get(b)];
    const order = typeof x === "string" ? collator.compare(x, y) : x - y;
    return (sort.down ? -order : order) || a - b;
  });
}

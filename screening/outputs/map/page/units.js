// Amounts as people read them, metric or US, the same way as in the tables and sheets.

const US_UNITS = {
  "m": ["ft", 0.3048],
  "m2": ["sq ft", 0.3048 * 0.3048],
  "mm": ["in", 25.4],
  "mm/h": ["in/h", 25.4],
  "m3": ["gal", 231 * 0.0254 ** 3],
  "um/s": ["in/h", 25.4 / 3.6],
};
const METRIC_UNITS = {"m2": "m²", "m3": "m³", "um/s": "mm/h", "m/m2": "m/m²"};
const SENTENCE_UNITS = {"m2": "m²", "m3": "m³"};
const DECIMALS = {
  "m": 2, "m2": 1, "m²": 1, "mm": 0, "mm/h": 1, "%": 1, "h": 0, "m3": 1, "m³": 1, "ft": 1, "sq ft": 0, "in": 1, "in/h": 2, "gal": 0,
};

let units = "metric";

/** Fixed decimals with ties to the even digit, as Python writes them. */
function fixed(value, decimals) {
  const text = value.toFixed(decimals);
  const halves = value * 2 ** (decimals + 1);
  const scaled = Math.abs(value) * 10 ** decimals;
  const tie = Number.isInteger(halves) && scaled - Math.floor(scaled) === 0.5;
  if (!tie) return text;
  const even = Math.floor(scaled) % 2 === 0 ? Math.floor(scaled) : Math.floor(scaled) + 1;
  return (Math.sign(value) * even / 10 ** decimals).toFixed(decimals);
}

function grouped(text) {
  const [whole, part] = text.split(".");
  const spaced = whole.replace(/\B(?=(\d{3})+(?!\d))/g, ",");
  return part === undefined ? spaced : `${spaced}.${part}`;
}

/** A number with its unit for the page's own tables; null when missing. */
function amount(value, unit, decimals) {
  if (value === null || value === undefined) return null;
  if (unit === "share" || unit === "0 to 1") return `${fixed(100 * value, 0)}%`;
  let shown = unit;
  let number = value;
  if (units === "us" && US_UNITS[unit]) {
    shown = US_UNITS[unit][0];
    number = value / US_UNITS[unit][1];
  } else if (METRIC_UNITS[unit]) {
    if (unit === "um/s") number = value * 3.6;
    shown = METRIC_UNITS[unit];
  }
  const places = decimals === undefined ? DECIMALS[shown] || 0 : decimals;
  const text = grouped(fixed(number, places));
  if (shown === "%") return `${text}%`;
  return shown ? `${text} ${shown}` : text;
}

/** The value of a rule with its unit: as many decimals as it has, in US units as many as are usual, and none that is nought. */
function ruleAmount(value, unit) {
  const own = String(Number(value.toFixed(3))).split(".")[1] || "";
  const text = amount(value, unit, units === "us" && US_UNITS[unit] ? undefined : own.length);
  return text.replace(/[.]0+(?![0-9])/, "").replace(" x ", " × ");
}

/** The unit that an amount is told in, for a table's head; the cells below it hold numbers alone. */
function unitWord(unit) {
  return units === "us" && US_UNITS[unit] ? US_UNITS[unit][0] : METRIC_UNITS[unit] || unit;
}

/** The number of an amount without its unit; null when missing. */
function bareAmount(value, unit, decimals) {
  const text = amount(value, unit, decimals);
  return text === null ? null : text.split(" ")[0];
}

/** A number with its unit inside a reason's sentence: the words of the tables, letter for letter. */
function amountInSentence(value, unit, finer) {
  if (value === null || value === undefined) return "unknown";
  if (unit === "share") return `${fixed(100 * value, finer)}%`;
  let shown = unit;
  let number = value;
  if (units === "us" && US_UNITS[unit] && unit !== "m3" && unit !== "um/s") {
    shown = US_UNITS[unit][0];
    number = value / US_UNITS[unit][1];
  }
  const text = fixed(number, (DECIMALS[shown] || 0) + finer).replace(/\.0+$/, "");
  if (shown === "%") return `${text}%`;
  return `${text} ${SENTENCE_UNITS[shown] || shown}`.trim();
}

/** A measured value and its limit, with up to two more decimals where the two differ and would read the same. */
function amountsApart(measured, limit, unit) {
  let texts = [];
  for (let finer = 0; finer <= 2; finer++) {
    texts = [amountInSentence(measured, unit, finer), amountInSentence(limit, unit, finer)];
    if (texts[0] !== texts[1] || measured === limit) break;
  }
  return texts;
}

const COMPASS = ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"];

function compass(degrees) {
  return degrees === null ? null : COMPASS[Math.round(degrees / 45) % 8];
}

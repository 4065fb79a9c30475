// Reasons as sentences.

/** The rows of a lot's reasons, the heaviest first, each {code, head, severity, text, near, rule}. */
function reasonsOf(lot) {
  const codes = Object.keys(data.reasons);
  const found = judged && judged.first[lot] >= 0 ? reasonsTried(lot) : rowsOf("reasons", lot).map((row) => reasonRow(tables.reasons.columns, row));
  const rows = found.map((one) => {
    const reason = data.reasons[one.code];
    return {...one, head: reason.head, rule: reason.rule, text: sentenceOf(reason, one)};
  });
  const weight = (reason) => data.severities.indexOf(reason.severity) * 1000 + codes.indexOf(reason.code);
  return rows.sort((a, b) => weight(a) - weight(b));
}

function reasonRow(c, row) {
  return {code: c.code[row], severity: c.severity[row], near: c.near[row] === true, measured: c.measured[row], limit: c.limit[row], detail: c.detail[row], unit: c.unit ? c.unit[row] : null};
}

/** Reasons under the limits tried out: of the first candidate, and what holds whatever the spot. */
function reasonsTried(lot) {
  const i = judged.first[lot];
  const out = judged.out[lot] === 1;
  const c = tables.candidates.columns;
  const kept = tables.kept_reasons.columns;
  const own = rowsOf("kept_reasons", lot).filter((row) => kept.candidate[row] === c.candidate[i]).map((row) => reasonRow(kept, row));
  for (const [code, found] of Object.entries(liveLimits(i))) {
    if (found.weight === FINE) continue;
    const told = (value) => (Number.isNaN(value) ? null : rounded(value, 1000));
    own.push({code, severity: data.severities[4 - found.weight], near: found.near, measured: told(found.measured), limit: told(found.limit), detail: liveDetail(code, i, found)});
  }
  const ofLot = rowsOf("reasons", lot).map((row) => reasonRow(tables.reasons.columns, row))
    .filter((one) => !data.spot_codes.includes(one.code) && one.code !== "taken" && !(out && one.code === "chance"));
  // what only asks to look says nothing of a place that is ruled out
  const told = out ? own.filter((one) => one.severity === "rules out" || one.severity === "note") : own;
  return [...told, ...ofLot, ...(out ? takenReason(lot) : [])];
}

/** What takes most of a lot's ground, as a reason. */
function takenReason(lot) {
  if (!tables.taken) return [];
  const c = tables.taken.columns;
  const rows = rowsOf("taken", lot).slice().sort((a, b) => c.area_m2[b] - c.area_m2[a] || (c.constraint[a] < c.constraint[b] ? -1 : 1)).slice(0, 3);
  if (!rows.length) return [];
  const detail = `Its ground is taken by ${rows.map((row) => `${c.constraint[row]} ${fixed(c.area_m2[row], 0)}\u00a0m2`).join("; ")}.`;
  return [{code: "taken", severity: "note", near: false, measured: null, limit: null, detail, unit: ""}];
}

function sentenceOf(reason, {measured, limit, detail, unit: told}) {
  const unit = told || reason.unit;
  // split and join, as a detail may hold anything, "$&" too
  const [had, wanted] = amountsApart(measured, limit, unit);
  const text = reason.sentence.split("{measured}").join(had).split("{limit}").join(wanted);
  const amountRead = (all, value, of) => (units === "us" ? amountInSentence(Number(value), of, 0) : `${value} ${SENTENCE_UNITS[of] || of}`);
  const words = (detail || "").replace(/(-?[0-9]+(?:[.][0-9]+)?)\u00a0(m2|m)(?![0-9A-Za-z])/g, amountRead);
  return text.split("{detail}").join(words).trim();
}

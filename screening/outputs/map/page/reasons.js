// Reasons as sentences.

/** The rows of a lot's reasons, the heaviest first, each {code, head, severity, text, near, rule}. */
function reasonsOf(lot) {
  const table = tables.reasons;
  const codes = Object.keys(data.reasons);
  const rows = rowsOf("reasons", lot).map((row) => {
    const code = table.columns.code[row];
    const reason = data.reasons[code];
    return {
      code,
      head: reason.head,
      severity: table.columns.severity[row],
      near: table.columns.near[row] === true,
      rule: reason.rule,
      text: sentenceOf(reason, row),
    };
  });
  const weight = (reason) => data.severities.indexOf(reason.severity) * 1000 + codes.indexOf(reason.code);
  return rows.sort((a, b) => weight(a) - weight(b));
}

function sentenceOf(reason, row) {
  const c = tables.reasons.columns;
  const unit = c.unit[row] || reason.unit;
  // split and join, as a detail may hold anything, "$&" too
  let text = reason.sentence.split("{measured}").join(amountInSentence(c.measured[row], unit));
  text = text.split("{limit}").join(amountInSentence(c.limit[row], unit));
  return text.split("{detail}").join(c.detail[row] || "").trim();
}

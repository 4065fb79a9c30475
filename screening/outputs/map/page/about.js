// Cautions, what was assumed and what is missing, the rules used.

const NOTE_HEADS = {missing: "Missing layers", assumption: "Assumed", caution: "Cautions of this run", repair: "Repaired"};

/** A note with the layer that it is of, where its words do not tell. */
function noteText(note) {
  return note.layer && note.kind !== "missing" ? `${opening(note.layer)}: ${note.text}` : note.text;
}

function makeAboutPanel() {
  const kinds = Object.keys(NOTE_HEADS).filter((kind) => data.notes.some((note) => note.kind === kind));
  return [
    make("h2", {id: "cautions", tabindex: "-1"}, "Cautions"),
    make("ul", {class: "plain-list"}, data.cautions.map((text) => make("li", {}, text))),
    kinds.map((kind) => [
      make("h2", {}, NOTE_HEADS[kind]),
      make("ul", {class: "plain-list"}, data.notes.filter((note) => note.kind === kind).map((note) => make("li", {}, noteText(note))))]),
    make("h2", {}, "Rules used"),
    make("p", {class: "lead-in"}, "Local code and the programme's own terms override these."),
    make("div", {id: "rules"}),
  ];
}

function drawRules() {
  const rows = Object.entries(data.rules).map(([name, rule]) => {
    const value = typeof rule.value === "number" ? ruleAmount(rule.value, rule.unit) : String(rule.value);
    return make("tr", {}, make("th", {scope: "row"}, rule.meaning, make("small", {}, name)), make("td", {class: "number"}, value));
  });
  fill(find("rules"), make("table", {class: "small"}, make("thead", {}, make("tr", {}, make("th", {scope: "col"}, "Rule"), make("th", {scope: "col", class: "number"}, "Value"))), make("tbody", {}, rows)));
}

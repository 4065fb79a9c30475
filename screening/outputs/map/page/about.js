// Cautions, what was assumed and what is missing, the rules used.

const NOTE_HEADS = {missing: "Missing layers", assumption: "Assumed", caution: "Cautions of this run", repair: "Repaired"};

function makeAboutPanel() {
  const kinds = Object.keys(NOTE_HEADS).filter((kind) => data.notes.some((note) => note.kind === kind));
  return [
    make("h2", {id: "cautions", tabindex: "-1"}, "Cautions"),
    make("ul", {class: "plain-list"}, data.cautions.map((text) => make("li", {}, text))),
    kinds.map((kind) => [
      make("h2", {}, NOTE_HEADS[kind]),
      make("ul", {class: "plain-list"}, data.notes.filter((note) => note.kind === kind).map((note) => make("li", {}, note.text)))]),
    make("h2", {}, "Rules used"),
    make("p", {class: "lead-in"}, "Local code and the programme's own terms override these."),
    make("div", {id: "rules"}),
  ];
}

function drawRules() {
  const rows = Object.entries(data.rules).map(([name, rule]) => {
    const value = typeof rule.value === "number" ? amount(rule.value, rule.unit, decimalsOf(rule)) : String(rule.value);
    return make("tr", {}, make("th", {scope: "row"}, rule.meaning, make("small", {}, name)), make("td", {class: "number"}, value));
  });
  fill(find("rules"), make("table", {class: "small"}, make("thead", {}, make("tr", {}, make("th", {scope: "col"}, "Rule"), make("th", {scope: "col", class: "number"}, "Value"))), make("tbody", {}, rows)));
}

/** As many decimals as the rule's own value has, when its unit does not change. */
function decimalsOf(rule) {
  if (units === "us" && US_UNITS[rule.unit]) return undefined;
  const text = String(rule.value);
  return text.includes(".") ? text.split(".")[1].length : 0;
}

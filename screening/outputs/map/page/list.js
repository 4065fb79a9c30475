// The ranked list: search, filters, a sortable table, and the way from a row to the lot.

const SHOWN_AT_ONCE = 100;
let shownRows = SHOWN_AT_ONCE;
let listed = null; // the lots in the list, null while nobody asked for them since they changed

/** The lots that match, in the list's order. */
function listedLots() {
  listed = listed || orderedLots();
  return listed;
}

function makeListPanel() {
  const search = make("input", {
    type: "search", id: "search", autocomplete: "off", placeholder: "Lot, street or address",
    on: {input: () => setFilter({text: search.value})},
  });
  const selects = FILTERS.filter((filter) => filter.values().length).map(filterSelect);
  const clear = make("button", {type: "button", class: "plain-button", id: "clear", hidden: true, on: {click: clearFilter}}, "Clear");
  when("filter", () => {
    if (search.value !== chosen.filter.text) search.value = chosen.filter.text;
    clear.hidden = matching === null;
    const active = FILTERS.filter((filter) => chosen.filter[filter.key] !== "").length;
    find("filters").querySelector("summary").textContent = active ? `Filters: ${active} on` : "Filters";
    shownRows = SHOWN_AT_ONCE;
    drawList();
  });
  when("sort units lot weights notes", drawList);
  when("tab", () => drawList.late && drawList());
  return [
    make("p", {id: "tried", class: "tried", hidden: true}, make("span", {id: "tried-what"}), make("button", {type: "button", class: "plain-button", on: {click: backToRun}}, "As in the run")),
    make("div", {class: "search-row"}, make("label", {for: "search"}, "Find"), search),
    make("details", {id: "filters"}, make("summary", {}, "Filters"), make("div", {class: "filter-rows"}, selects)),
    make("div", {class: "count-row"}, make("p", {class: "count", id: "count", role: "status"}, ""), clear),
    make("p", {class: "lead-in list-means", id: "list-means"}),
    make("table", {id: "lot-table"},
      make("caption", {class: "unseen"}, "Lots in order"),
      make("thead", {}, make("tr", {id: "lot-heads"})),
      make("tbody", {id: "lot-rows", on: {keydown: moveInList}})),
    make("button", {type: "button", id: "more", hidden: true, on: {click: showMore}}, ""),
  ];
}

function filterSelect(filter) {
  const values = filter.values();
  const id = `filter-${filter.key}`;
  const picker = make("select", {id, on: {change: () => setFilter({[filter.key]: picker.value})}},
    make("option", {value: ""}, "Any"),
    values.map((value) => make("option", {value: value === "" ? "(none)" : value}, filter.words(value))));
  when("filter", () => {
    if (picker.value !== chosen.filter[filter.key]) picker.value = chosen.filter[filter.key];
  });
  return make("div", {class: "filter"}, make("label", {for: id}, filter.name), picker);
}

function drawHeads() {
  fill(find("lot-heads"), Object.entries(SORTS).map(([key, sort]) => {
    const on = chosen.sort.by === key;
    const direction = on ? (chosen.sort.down ? "descending" : "ascending") : null;
    const title = key === "kept" ? ["Kept", make("small", {}, units === "us" ? "gal" : "m³")] : [sort.name];
    return make("th", {scope: "col", class: `col-${key}`, "aria-sort": direction},
      make("button", {type: "button", on: {click: () => sortBy(key)}}, title,
        make("span", {class: "arrow", "aria-hidden": "true"}, on ? (chosen.sort.down ? "▼" : "▲") : "")));
  }));
}

function sortBy(key) {
  const same = chosen.sort.by === key;
  chosen.sort = {by: key, down: same ? !chosen.sort.down : Boolean(SORTS[key].downFirst)};
  changed("sort");
  find("lot-heads").querySelector(`.col-${key} button`).focus();
}

/** Draw the list once somebody looks at it. */
function drawList() {
  listed = null;
  drawList.late = find("panel-lots").hidden;
  if (drawList.late) return;
  const lots = listedLots();
  drawHeads();
  const all = lots.length === lotCount;
  find("list-means").textContent = `Score of 100. Kept: out of the drain in ${amount(data.rules.storm_depth_mm.value, "mm")} of rain.`;
  find("count").textContent = all ? `${grouped(String(lotCount))} ${lotCount === 1 ? "lot" : "lots"}` : `${grouped(String(lots.length))} of ${grouped(String(lotCount))} lots`;
  const rows = Array.from(lots.subarray(0, shownRows), listRow);
  const body = find("lot-rows");
  const focused = body.contains(document.activeElement) ? document.activeElement.dataset.lot : null;
  fill(body, rows.length ? rows : make("tr", {}, make("td", {colspan: 4, class: "none"}, "No lot matches.")));
  if (focused) body.querySelector(`button[data-lot="${focused}"]`)?.focus({preventScroll: true});
  const left = lots.length - shownRows;
  find("more").hidden = left <= 0;
  find("more").textContent = `Show ${Math.min(left, SHOWN_AT_ONCE)} more of ${grouped(String(left))}`;
}

function showMore() {
  const next = listedLots()[shownRows];
  shownRows += SHOWN_AT_ONCE;
  drawList();
  find("lot-rows").querySelector(`button[data-lot="${next}"]`)?.focus();
}

function listRow(lot) {
  const verdict = lotValue("verdict", lot);
  const rank = lotValue("rank", lot);
  const group = lotValue("rank_group", lot);
  const about = group && group.includes("-") ? make("small", {title: "Ranks that are about equal"}, `≈ ${group.replace("-", "–")}`) : null;
  const kept = lotValue("storm_kept_m3", lot);
  const keptText = kept === null || rank === null ? "" : amount(kept, "m3").split(" ")[0];
  const step = verdict === "test soil first" ? null : stepWords(lot);
  const line = step ? `${opening(verdict)}: ${step}` : opening(verdict);
  return make("tr", {class: lot === chosen.lot ? "chosen" : null},
    make("td", {class: "col-rank"}, rank === null ? "–" : String(rank), isTicked(lot) ? make("span", {class: "ticked", title: "To be visited this season"}, " ✓") : null, about),
    make("td", {class: "col-name"},
      make("button", {type: "button", class: "lot-button", "data-lot": lot, "aria-current": lot === chosen.lot ? "true" : null, on: {click: () => select(lot, "list")}},
        make("span", {class: "lot-name"}, lotName(lot))),
      make("span", {class: "lot-line"}, swatch(classOf(lot), verdict), line)),
    make("td", {class: "col-score"}, rank === null ? "" : String(shownScore(lot))),
    make("td", {class: "col-kept"}, keptText));
}

/** Arrow keys go from lot to lot. */
function moveInList(event) {
  const step = {ArrowDown: 1, ArrowUp: -1}[event.key];
  if (!step || !event.target.dataset.lot) return;
  const buttons = [...find("lot-rows").querySelectorAll("button[data-lot]")];
  const next = buttons[buttons.indexOf(event.target) + step];
  if (next) {
    event.preventDefault();
    next.focus();
  }
}

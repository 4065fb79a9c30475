"""Rules tried out in the page, against Python on every lot."""

import re
import tomllib
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from screening.inputs.rules_file import read_rules
from screening.outputs.map import write_maps
from screening.ranking.changed_rules import changed, rejudged
from screening.ranking.criteria import CRITERIA
from screening.ranking.sentences import lot_reasons
from screening.ranking.visit_list import visits_of
from screening.rules import Rules
from screening.streets.totals import street_totals
from tests.outputs.varied_lots import varied_screening

pytestmark = pytest.mark.browser

SET_RULES = """
wanted => {
  const put = (id, value, event) => {
    const box = document.getElementById(id);
    box.value = value;
    box.dispatchEvent(new Event(event));
  };
  put("limit-capture_depth_mm", wanted.depth, "input");
  put("limit-slope_limit_pct", wanted.slope, "input");
  put("limit-visits", wanted.visits, "change");
  put("limit-visits_of_street_most", wanted.most, "change");
  for (const [rule, weight] of Object.entries(wanted.weights)) put(`weight-${rule}`, weight, "change");
}
"""
STREETS = """
() => [...document.querySelectorAll("#street-table tbody tr")].map(row => [...row.cells].map(cell => cell.textContent))
"""


@pytest.fixture(scope="module")
def varied():
    return varied_screening()


@pytest.fixture(scope="module")
def varied_map(varied, tmp_path_factory):
    return write_maps(varied, tmp_path_factory.mktemp("varied") / "map.html")["map"]


@pytest.fixture
def opened(new_page, varied_map):
    page = new_page().open(varied_map)
    page.page.locator("#tab-weights").click()
    return page


def setting(rng, rules):
    """Places of the sliders, and the rules that they stand for."""
    depth, slope = int(rng.integers(-33, 39)), int(rng.integers(-28, 5))
    names = [rule for _, rule, _ in CRITERIA]
    weights = {rule: int(value) for rule, value in zip(names, rng.integers(0, 101, 6), strict=True)}
    page = {
        "depth": depth,
        "slope": slope,
        "visits": int(rng.integers(1, 60)),
        "most": int(rng.integers(0, 9)),
        "weights": weights,
    }
    new = {**weights, "visits": page["visits"], "visits_of_street_most": page["most"]}
    if depth:
        new["capture_depth_mm"] = rules.capture_depth_mm + depth
    if slope:
        new["slope_limit_pct"] = rules.slope_limit_pct + 0.5 * slope
    return page, changed(rules, **new)


def saved(page, button):
    with page.expect_download() as download:
        page.locator(button).click()
    return Path(download.value.path())


def test_fifty_random_settings_judge_every_lot_as_python_does(opened, varied) -> None:
    verdicts, spots = set(), 0
    for tables in _judged_alike(opened.page, varied, 50, seed=3):
        verdicts |= set(tables["lots"]["verdict"])
        spots += int((tables["candidates"]["chosen"] != varied.tables["candidates"]["chosen"]).sum())
    assert verdicts == {"approach", "test soil first", "look closer", "ruled out"}
    assert spots > 500
    assert opened.complaints == []


def test_the_index_of_a_large_area_judges_as_python_does(new_page, varied, tmp_path) -> None:
    index = new_page().open(write_maps(varied, tmp_path / "map.html", most=40)["map"])
    index.page.locator("#tab-weights").click()
    assert sum(1 for _ in _judged_alike(index.page, varied, 8, seed=5)) == 8
    assert index.complaints == []


@pytest.mark.parametrize(("condition", "most", "count"), [("fair", None, 50), ("poor", 40, 8)], ids=["page", "index"])
def test_a_run_that_asked_for_run_on_is_judged_as_python_does(new_page, tmp_path, condition, most, count) -> None:
    rules = Rules(run_on=True, lawn_condition=condition, storm_depth_mm=60.0)
    run = varied_screening(rules=rules)
    pages = write_maps(run, tmp_path / "map.html", **({} if most is None else {"most": most}))
    view = new_page().open(pages["map"])
    view.page.locator("#tab-weights").click()
    held, unknown, less = set(), 0, 0
    for tables in _judged_alike(view.page, run, count, seed=7):
        lots = tables["lots"]
        held |= set(lots["storm_run_on_held_m3"].dropna())
        unknown += int(lots["storm_captured_m3"].isna().sum())
        spots = tables["candidates"][tables["candidates"]["chosen"]].set_index("lot_id").reindex(lots["lot_id"])
        held_mm, area, shed = (
            column.to_numpy(dtype=float, na_value=np.nan)
            for column in (spots["capture_depth_mm"], spots["draining_area_m2"], lots["storm_runoff_m3"])
        )
        alone = np.minimum(0.95 * 0.001 * np.minimum(60.0, held_mm) * area, shed)
        captured = lots["storm_captured_m3"].to_numpy(dtype=float, na_value=np.nan)
        assert not (captured > alone + 0.006).any()
        less += int((captured < alone - 0.006).sum())
    assert len(held) > 100
    assert unknown > 50
    assert less > 100
    if most is None:
        view.page.locator("#tab-lots").click()
        lot = lots[lots["run_on_m2"] > 100.0].iloc[0]
        view.page.locator("#search").fill(lot["lot_id"])
        view.page.locator("#lot-rows button").first.click()
        told = view.page.locator(".fact", has_text="Ground that drains in over the lip").text_content()
        assert f"curve number {lot['run_on_curve_number']}" in told
        assert re.search(rf"lip{lot['run_on_m2']:.0f}\sm²", told)
    assert view.complaints == []


@pytest.mark.parametrize("run_on", [False, True])
def test_second_gardens_follow_as_in_python(new_page, tmp_path, run_on) -> None:
    run = varied_screening(rules=Rules(gardens_most=2, run_on=run_on, storm_depth_mm=60.0))
    view = new_page().open(write_maps(run, tmp_path / "map.html")["map"])
    view.page.locator("#tab-weights").click()
    others, two = 0, 0
    for tables in _judged_alike(view.page, run, 12, seed=8):
        two += int((tables["lots"]["gardens"] == 2).sum())
        others += int((tables["candidates"]["second"] != run.tables["candidates"]["second"]).sum())
    assert two > 200
    assert others > 50
    assert view.complaints == []


def _judged_alike(page, run, count, seed):
    """Tables of random settings, each after the page was seen to say the same."""
    rng = np.random.default_rng(seed)
    for _ in range(count):
        wanted, rules = setting(rng, run.rules)
        page.evaluate(SET_RULES, wanted)
        tables = rejudged(run.tables, run.rules, rules, run.own_rules)
        _same_lots(page, tables["lots"], rules, wanted)
        _same_streets(page, tables, rules)
        yield tables


def _same_lots(page, lots, rules, wanted) -> None:
    got = pd.read_csv(saved(page, "#list-save"), dtype={"lot_id": "str", "rank_group": "str"})
    told = lots.assign(first_visit=visits_of(lots, rules))
    assert len(got.columns) > 15
    for name in got.columns:
        column = told[name]
        if column.dtype in ("boolean", "bool"):
            column = column.astype("boolean").map({True: "yes", False: "no"})
        pairs = zip(got[name].astype(object), column.astype(object), strict=True)
        same = [(pd.isna(a) and pd.isna(b)) or a == b for a, b in pairs]
        assert all(same), (wanted, name, told["lot_id"][~np.array(same)].tolist()[:5])


def _same_streets(page, tables, rules) -> None:
    streets = street_totals(tables["lots"], None, rules).set_index("street")
    visits = tables["lots"][visits_of(tables["lots"], rules)]["street"].fillna("(street unknown)").value_counts()
    page.locator("#tab-streets").click()
    told = page.evaluate(STREETS)
    page.locator("#tab-weights").click()
    assert len(told) == len(streets)
    for name, feasible, first, kept, share in told:
        row = streets.loc[name]
        assert feasible == f"{row['feasible']} of {row['lots']}"
        assert first == str(visits.get(name, 0))
        assert kept == f"{row['storm_kept_m3']:.1f}"
        assert share == f"{100 * row['storm_kept_share']:.0f}%"


@pytest.mark.parametrize("units", ["metric", "us"])
def test_reasons_read_as_python_writes_them(opened, varied, units) -> None:
    page = opened.page
    page.evaluate(SET_RULES, {"depth": -16, "slope": -10, "visits": 30, "most": 0, "weights": {}})
    if units == "us":
        page.locator("#units-choice button", has_text="US").click()
    rules = changed(varied.rules, capture_depth_mm=22.0, slope_limit_pct=10.0)
    tables = rejudged(varied.tables, varied.rules, rules, varied.own_rules)
    wanted = lot_reasons(tables["lots"]["lot_id"], tables["reasons"], units)
    page.locator("#tab-lots").click()
    for number in range(0, 96, 4):
        page.locator("#search").fill(tables["lots"]["lot_id"].iloc[number])
        page.locator("#lot-rows button").first.click()
        assert " ".join(page.locator(".reason .sentence").all_text_contents()) == wanted.iloc[number]
        page.locator("#close-lot").click()


def test_the_rules_file_is_what_a_run_takes(opened, varied) -> None:
    page = opened.page
    page.evaluate(SET_RULES, {"depth": -16, "slope": -10, "visits": 12, "most": 3, "weights": {"weight_soil": 33}})
    path = saved(page, "#weights-save")
    told = tomllib.loads(path.read_text(encoding="utf-8"))
    assert told["capture_depth_mm"] == 22.0
    wanted = changed(
        varied.rules, capture_depth_mm=22.0, slope_limit_pct=10.0, visits=12, visits_of_street_most=3, weight_soil=33
    )
    assert read_rules(path) == wanted


def test_what_stays_the_runs_is_marked(opened) -> None:
    page = opened.page
    page.evaluate(SET_RULES, {"depth": -10, "slope": 0, "visits": 30, "most": 0, "weights": {}})
    page.locator("#tab-lots").click()
    assert "Tried out: capture depth 28 mm." in page.locator("#tried").text_content()
    page.locator("#lot-rows button").first.click()
    for term in ("Kept out in a mean year", "Chance a garden can be built"):
        assert "from the run" in page.locator(".fact", has_text=term).text_content()
    page.locator("#tried button").click()
    assert page.locator("#tried").is_hidden()
    assert "from the run" not in page.locator("#lot").text_content()


def test_a_setting_beyond_what_was_searched_is_told(opened) -> None:
    page = opened.page
    assert page.locator("#beyond").is_hidden()
    page.evaluate(SET_RULES, {"depth": 5, "slope": 0, "visits": 30, "most": 0, "weights": {}})
    assert page.locator("#beyond").is_visible()

"""A whole season on one street of the demo area: screen, field results in three rounds, compare, report."""

import re
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pytest
import rasterio
from affine import Affine
from click.testing import CliRunner

from screening.cli import screening
from screening.demo_data import demo_area_path
from screening.outputs.geopackage import write_geopackage
from screening.outputs.read_run import read_run
from screening.outputs.record import write_record
from screening.pipeline import read_area, screen
from screening.season.compare import changed_lots

STREET = "Mizzle Way"
SOIL = {"soil_group", "soil_line", "soil_unknown"}


def cut_area(folder: Path) -> Path:
    """The demo area's street with the ground around it."""
    demo = demo_area_path()
    lots = gpd.read_file(demo.parent / "lots.gpkg")
    lots = lots[lots["street"] == STREET]
    lots.to_file(folder / "lots.gpkg", layer="lots", driver="GPKG")
    west, south, east, north = lots.total_bounds
    with rasterio.open(demo.parent / "elevation.tif") as source:
        left, top = ~source.transform @ (west - 60, north + 60)
        right, bottom = ~source.transform @ (east + 60, south - 60)
        rows = slice(max(int(top), 0), min(int(bottom), source.height))
        columns = slice(max(int(left), 0), min(int(right), source.width))
        heights = source.read(1)[rows, columns]
        profile = {**source.profile, "height": heights.shape[0], "width": heights.shape[1]}
        profile["transform"] = source.transform @ Affine.translation(columns.start, rows.start)
    with rasterio.open(folder / "elevation.tif", "w", **profile) as target:
        target.write(heights, 1)
    text = re.sub(
        r'(file|export) = "(?!lots|elevation)', lambda found: f'{found[1]} = "{demo.parent}/', demo.read_text("utf-8")
    )
    text = re.sub(r"\[(wells|septic|field)\][^\[]*", "", text)  # off the cut, or of other lots
    (folder / "area.toml").write_text(text, encoding="utf-8")
    return folder / "area.toml"


def run_round(area: Path, out: Path, rows: list[dict] | None) -> Path:
    """Screen the street with the field file as it stands, and write the run's tables and record."""
    text = area.read_text("utf-8")
    if rows is not None:
        pd.DataFrame(rows).to_csv(area.parent / "field.csv", index=False)
        if "[field]" not in text:
            area.write_text(text + '\n[field]\nfile = "field.csv"\n', encoding="utf-8")
    read = read_area(area)
    result = screen(read.area, read.rules)
    out.mkdir()
    write_geopackage(result, out / "lots.gpkg")
    write_record(result, out / "run.json")
    return out


def heavy(run, lot):
    reasons = run.tables["reasons"]
    return set(reasons.loc[(reasons["lot_id"] == lot) & (reasons["severity"] != "note"), "code"])


def pick_lots(run) -> dict[str, str]:
    """Lots whose season is played, by what the maps say of them."""
    lots = run.lots[run.lots["rank"].notna()].sort_values("rank")
    ids = lots["lot_id"].tolist()
    clear = lots.loc[lots["verdict"] == "approach", "lot_id"].tolist()
    return {
        "soil": next(lot for lot in ids if heavy(run, lot) and heavy(run, lot) <= SOIL),
        "fall": next(lot for lot in ids if "fall" in heavy(run, lot)),
        "slow": clear[0],
        "built": clear[1],
        "tenant": clear[2],
        "refused": clear[3],
    }


def rounds(lots: dict[str, str]) -> list[list[dict]]:
    """Field results as they grow: letters and calls; visits with tests and levels; what was built. All made up."""

    def row(who: str, what: str, date: str, **more: object) -> dict:
        return {"lot": lots[who], "what": what, "date": date, "units": "metric", **more}

    def hole(who: str, date: str, first: float, repeat: float) -> dict:
        return row(who, "test", date, hole_depth=60, hole_width=30, fill_1_h=first, fill_2_h=repeat, rain_48h=0)

    one = [row(who, "approach", "2026-04-01") for who in lots]
    one += [row(who, "call", "2026-04-10", basement="no") for who in ("soil", "fall", "slow", "built")]
    one += [row("tenant", "call", "2026-04-11", owner="no"), row("refused", "status", "2026-04-12", status="refused")]
    two = [
        hole("soil", "2026-05-02", 10, 14),
        hole("slow", "2026-05-03", 20, 40),
        hole("built", "2026-05-04", 5, 6),
        row("fall", "level", "2026-05-05", at_house=60, at_spot=160),
        row("tenant", "consent", "2026-05-06", consent_of="owner", consent="yes"),
    ]
    three = [
        row("built", "status", "2026-05-20", status="approved before digging"),
        row("built", "built", "2026-06-15", ponding_area=10, ponding_depth=15, bed_depth=30, area_treated=60,
            native_share=0.8),
        row("built", "status", "2026-09-10", status="inspected"),
    ]  # fmt: skip
    return [one, one + two, one + two + three]


@pytest.fixture(scope="module")
def season(tmp_path_factory):
    folder = tmp_path_factory.mktemp("season")
    area = cut_area(folder)
    runs = [run_round(area, folder / "run_0", None)]
    lots = pick_lots(read_run(runs[0]))
    runs += [run_round(area, folder / f"run_{n}", rows) for n, rows in enumerate(rounds(lots), 1)]
    return {"area": area, "folders": runs, "runs": [read_run(path) for path in runs], "lots": lots}


def lot_of(season, number, who):
    lots = season["runs"][number].lots
    return lots[lots["lot_id"] == season["lots"][who]].iloc[0]


def changes(season, before, after):
    a, b = season["runs"][before], season["runs"][after]
    return changed_lots(a.tables, b.tables, (a.record, b.record)).set_index("lot_id")


def test_calls_take_refusals_off_the_list_and_ask_for_the_owner(season):
    refused = lot_of(season, 1, "refused")
    assert refused["verdict"] == lot_of(season, 0, "refused")["verdict"]
    assert pd.isna(refused["rank"])
    assert refused["score"] == lot_of(season, 0, "refused")["score"]
    assert refused["contact_status"] == "refused"
    assert lot_of(season, 1, "tenant")["verdict"] == "look closer"
    assert "owner" in heavy(season["runs"][1], season["lots"]["tenant"])
    ranks = sorted(season["runs"][1].lots["rank"].dropna())
    assert ranks == list(range(1, len(ranks) + 1))


def test_tests_levels_and_consent_settle_what_maps_could_not(season):
    run, lots = season["runs"][2], season["lots"]
    assert not heavy(run, lots["soil"]) & SOIL
    assert lot_of(season, 2, "soil")["ksat_spot_um_s"] == pytest.approx(11.771 / 3.6, abs=0.01)
    assert lot_of(season, 2, "soil")["ksat_source"] == "test"
    assert heavy(run, lots["slow"]) & {"pond_drawdown", "slow_test", "failed_test"}
    assert lot_of(season, 2, "slow")["verdict"] in ("ruled out", "look closer")
    assert "fall" not in heavy(run, lots["fall"])
    assert "owner" not in heavy(run, lots["tenant"])


def test_every_change_of_a_verdict_is_traced_to_its_cause(season):
    known = ("field results", "soil tests nearby", "conductivity moved")
    for before, after in ((0, 1), (1, 2), (2, 3)):
        found = changes(season, before, after)
        moved = found[found["verdict_before"] != found["verdict_after"]]
        assert all(cause.startswith(known) for cause in moved["cause"]), moved["cause"].tolist()
        assert not found["cause"].str.contains("do not tell").any()
    second = changes(season, 1, 2)
    assert second.loc[season["lots"]["slow"], "cause"].startswith("field results:")
    assert "20, 40 h: 4.1 mm/h" in second.loc[season["lots"]["slow"], "cause"]
    assert len(changes(season, 2, 2)) == 0


def test_a_built_garden_counts_by_its_own_figures(season):
    run = season["runs"][3]
    rows = run.tables["season"]
    row = rows[rows["lot_id"] == season["lots"]["built"]].iloc[0]
    # 10 m2 x (150 + 0.4 x 300) mm over 0.95 x 60 m2: 47.4 mm; the storm of 38 mm is held: 0.95 x 0.038 x 60 m3
    assert row["built_capture_depth_mm"] == pytest.approx(47.4, abs=0.05)
    assert row["built_storm_captured_m3"] == pytest.approx(2.17, abs=0.005)
    lot, candidates = lot_of(season, 3, "built"), run.tables["candidates"]
    spot = candidates[(candidates["lot_id"] == lot["lot_id"]) & candidates["chosen"]].iloc[0]
    led = min(spot["draining_area_m2"], 60)
    reached = led * spot["kept_share"] + (60 - led) * lot["drain_reach_share"]
    assert row["built_storm_kept_m3"] == pytest.approx(0.95 * 0.038 * reached, abs=0.02)
    assert 0 < row["built_year_kept_m3"] <= row["built_year_captured_m3"]
    assert lot_of(season, 3, "built")["contact_status"] == "inspected"
    assert pd.isna(lot_of(season, 3, "built")["rank"])
    design = ("ponding_area_m2", "draining_area_m2", "storm_captured_m3")
    assert all(lot_of(season, 3, "built")[name] == lot_of(season, 2, "built")[name] for name in design)


def test_the_commands_tell_the_season(season, tmp_path):
    runner, folders, lots = CliRunner(), season["folders"], season["lots"]
    found = runner.invoke(screening, ["field", str(season["area"])])
    assert found.exit_code == 0, found.output
    assert "6 lots with field results" in found.output
    found = runner.invoke(screening, ["compare", str(folders[1]), str(folders[2]), "--csv", str(tmp_path / "c.csv")])
    assert found.exit_code == 0, found.output
    assert "Input field.csv (changed)" in found.output
    assert "nan" not in found.output
    assert f"  {lots['slow']}: verdict approach -> " in found.output
    assert lots["slow"] in pd.read_csv(tmp_path / "c.csv", dtype=str)["lot_id"].tolist()
    found = runner.invoke(screening, ["report", str(folders[3]), "--on", "2027-07-01", "--out", str(tmp_path)])
    assert found.exit_code == 0, found.output
    text = (tmp_path / "season_report.md").read_text("utf-8")
    assert "As of 2027-07-01" in text
    assert "| approached | 6 |" in text
    assert "1 garden drains 60.0 m2" in text
    assert f"| {lots['built']} | year 1 | 2027-06-15 | overdue |" in text
    table = pd.read_csv(tmp_path / "built_gardens.csv", dtype={"lot_id": str})
    assert table[["lot_id", "practice", "area_treated_m2", "built"]].values.tolist() == [
        [lots["built"], "rain garden", 60.0, "2026-06-15"]
    ]
    assert table["receiving_water"].notna().all()


def test_one_lot_in_words_and_never_ruled_out_to_a_household(season):
    runner, lots = CliRunner(), season["lots"]
    run = season["runs"][0]
    out = run.lots.loc[run.lots["verdict"] == "ruled out", "lot_id"].iloc[0]
    text = runner.invoke(screening, ["lot", str(season["folders"][0]), out]).output
    household = text[text.index("For the household") :]
    assert "no garden place found from maps" in household
    assert "ruled out" not in household
    for other in ("barrel", "planter box", "tree", "permeable paving"):
        assert other in household
    text = runner.invoke(screening, ["lot", str(season["folders"][3]), lots["built"]]).output
    assert "as built" in text
    assert "no garden place" not in text
    wrong = runner.invoke(screening, ["lot", str(season["folders"][0]), f"{out}x"])
    assert out in str(wrong.exception)

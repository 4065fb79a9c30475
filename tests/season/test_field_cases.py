"""Made-up lots with what the field said of them: the test beats the map, the water table stays."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely import box

from screening.fields import TABLES
from screening.inputs.field_columns import field_template
from screening.season.built import season_table
from tests.season.cases import hole, judged, write_field
from tests.siting.lots import standard_lot

ALL = box(-200, -200, 200, 200)


def site(plane=(0.0, 0.03), group="B", **more):
    lot = {"soils": [{"geometry": ALL, "hsg": group}], **standard_lot()}
    return {"plane": plane, **lot, **more}


def spot(tables, lot="A"):
    candidates = tables["candidates"]
    return candidates[candidates["chosen"] & (candidates["lot_id"] == lot)].iloc[0]


def codes(tables, severity, lot="A"):
    reasons = tables["reasons"]
    return reasons.loc[(reasons["lot_id"] == lot) & (reasons["severity"] == severity), "code"].tolist()


@pytest.mark.parametrize("place", [{}, {"x": 10, "y": 5.5}], ids=["at the spot", "located"])
def test_mapped_d_tested_well_is_to_be_approached(tmp_path, place):
    assert judged(None, **site(group="D"))[0]["A"]["verdict"] != "approach"
    found, tables, context = judged(write_field(tmp_path / "f.csv", hole("A", 10, 14, **place)), **site(group="D"))
    # hole of 0.6 x 0.3 m, 14 h: (75 / 14) ln(675 / 75) = 11.77 mm/h, worked by hand from the hole's formula
    assert context.field.tests["test_ksat_um_s"].tolist() == pytest.approx([11.771 / 3.6], rel=1e-3)
    assert found["A"]["verdict"] == "approach"
    assert spot(tables)["ksat_source"] == "test"
    assert not set(codes(tables, "test soil"))


def test_the_repeat_over_the_limit_rules_the_only_place_out(tmp_path):
    field = write_field(tmp_path / "f.csv", hole("A", 20, 40))
    found, tables, context = judged(field, **site())
    assert context.field.tests["test_ksat_um_s"].iloc[0] * 3.6 == pytest.approx(4.12, abs=0.01)
    assert found["A"]["verdict"] == "ruled out"
    assert codes(tables, "rules out")[:2] == ["pond_drawdown", "slow_test"]


def test_on_a_wide_lot_the_other_place_is_worth_a_look(tmp_path):
    field = write_field(tmp_path / "f.csv", hole("A", 20, 40))
    wide = site(lots=[box(0, 0, 36, 40)])
    found, tables, _ = judged(field, **wide)
    assert found["A"]["verdict"] == "look closer"
    assert found["A"]["deciding_limit"] == "failed_test"
    before = spot(judged(None, **wide)[1])
    after = spot(tables)
    away = np.hypot(after["x_m"] - before["x_m"], after["y_m"] - before["y_m"])
    assert away >= 10.0
    assert after["failed_test_m"] == pytest.approx(away, abs=0.05)  # to 0.1


def test_any_filling_over_the_limit_counts_though_the_repeat_is_quick(tmp_path):
    found, tables, _ = judged(write_field(tmp_path / "f.csv", hole("A", 37, 20)), **site())
    assert found["A"]["verdict"] == "ruled out"
    assert codes(tables, "rules out") == ["slow_test"]


def test_one_filling_is_no_test(tmp_path):
    found, tables, context = judged(write_field(tmp_path / "f.csv", hole("A", 5)), **site())
    assert len(context.field.tests) == 0
    assert found["A"]["verdict"] == "test soil first"
    assert codes(tables, "test soil") == ["repeat_test"]


@pytest.mark.parametrize(("depth", "verdict"), [(0.40, "ruled out"), (0.80, "test soil first")])
@pytest.mark.parametrize("known", ["map", "hole"])
def test_a_good_test_does_not_dry_a_water_table(tmp_path, depth, verdict, known):
    strip = {"geometry": box(-50, 24, 70, 60), "hsg": "B"}
    rest = {"geometry": box(-50, -50, 70, 24), "hsg": "B"}
    lot = standard_lot()
    if known == "map":
        soils, seen = [{**strip, "water_table_m": depth}, rest], {}
    else:
        soils, seen = [strip, rest], {"water_at": round(100 * depth)}
    field = write_field(tmp_path / "f.csv", hole("A", 10, 14, **seen))
    found, tables, _ = judged(field, plane=(0.0, -0.05), **{**lot, "soils": soils})
    assert found["A"]["verdict"] == verdict
    if verdict == "test soil first":
        assert "water_table" in codes(tables, "test soil")


def test_a_neighbours_test_moves_the_lot_and_is_named(tmp_path):
    two = site(
        group="C",
        lots=[box(0, 0, 20, 40), box(20, 0, 40, 40)],
        roofs=[{"geometry": box(4, 12, 16, 22), "kind": "house"}, {"geometry": box(24, 12, 36, 22), "kind": "house"}],
    )
    plain = spot(judged(None, **two)[1], "B")
    found, tables, _ = judged(write_field(tmp_path / "f.csv", hole("A", 4, 5)), **two)
    moved = spot(tables, "B")
    assert plain["ksat_source"] == "group"
    assert moved["ksat_source"] == "nearby test"
    assert moved["ksat_um_s"] > 1.5 * plain["ksat_um_s"]
    assert found["B"]["verdict"] == "test soil first"  # a neighbour's hole is not one's own
    slow = judged(write_field(tmp_path / "f.csv", *[hole("A", 300, 900)] * 3), **two)[1]
    words = slow["reasons"].query("lot_id == 'B' and code == 'pond_drawdown'")["detail"]
    assert all("soil tests nearby" in text for text in words)
    assert len(words)


def test_levels_replace_the_fall_of_the_raster(tmp_path):
    flat = site(plane=(0.0, 0.003))
    before, tables, _ = judged(None, **flat)
    assert before["A"]["deciding_limit"] == "fall"
    old = spot(tables)
    level = {"lot": "A", "what": "level", "units": "us", "at_house": 24, "at_spot": 35}
    after, tables, _ = judged(write_field(tmp_path / "f.csv", level), **flat)
    new = spot(tables)
    assert after["A"]["verdict"] == "approach"
    # 35 in less 24 in is 11 in of drop from the house to the spot
    house = new["fall_m"] + new["lip_m"]
    assert house == pytest.approx(old["fall_m"] + old["lip_m"], abs=0.002)
    assert house - new["ground_m"] == pytest.approx(11 * 0.0254, abs=0.002)
    assert new["level_taken"]
    lead = tables["leads"].query(f"lot_id == 'A' and candidate == {new['candidate']}")
    assert lead["fall_m"].max() == pytest.approx(new["fall_m"], abs=0.01)


def test_a_level_that_shows_no_fall_sends_the_garden_elsewhere(tmp_path):
    level = {"lot": "A", "what": "level", "at_house": 80, "at_spot": 20}
    found, tables, _ = judged(write_field(tmp_path / "f.csv", level), **site())
    first = tables["candidates"].query("lot_id == 'A' and level_taken").iloc[0]
    assert first["fall_margin_m"] < -0.3
    assert not first["chosen"]
    assert not spot(tables)["level_taken"]
    assert found["A"]["verdict"] != "ruled out"


@pytest.mark.parametrize(
    ("answers", "code", "severity", "verdict"),
    [
        ({"septic": "yes"}, "septic_told", "look closer", "look closer"),
        ({"owner": "no"}, "owner", "look closer", "look closer"),
        ({"association": "yes"}, "association", "look closer", "look closer"),
        ({"wet_spots": "behind the shed"}, "wet_spots", "look closer", "look closer"),
        ({"sump": "yes"}, "sump", "test soil", "test soil first"),
        ({"sprinklers": "yes"}, "sprinklers", "note", "approach"),
        ({"pipes": "yes"}, "piped", "note", "approach"),
    ],
)
def test_answers_add_their_reason(tmp_path, answers, code, severity, verdict):
    found, tables, _ = judged(write_field(tmp_path / "f.csv", {"lot": "A", "what": "call", **answers}), **site())
    assert code in codes(tables, severity)
    assert found["A"]["verdict"] == verdict


def test_the_owners_consent_settles_a_tenants_answer(tmp_path):
    call = {"lot": "A", "what": "call", "owner": "no"}
    yes = {"lot": "A", "what": "consent", "consent_of": "owner", "consent": "yes"}
    found, tables, _ = judged(write_field(tmp_path / "f.csv", call, yes), **site())
    assert found["A"]["verdict"] == "approach"
    assert "consent_given" in codes(tables, "note")
    found, tables, _ = judged(write_field(tmp_path / "f.csv", call, {**yes, "consent": "no"}), **site())
    assert set(codes(tables, "look closer")) == {"owner", "consent_refused"}


def test_consent_for_an_easement_lifts_its_reason(tmp_path):
    # every way to the front crosses the easement; the back lies uphill
    strip = {"easements": [{"geometry": box(-5, 9, 25, 11), "name": "old ditch"}]}
    before, tables, _ = judged(None, **site(**strip))
    assert before["A"]["deciding_limit"] == "consent", codes(tables, "look closer")
    yes = {"lot": "A", "what": "consent", "consent_of": "easement", "consent": "yes"}
    after, tables, _ = judged(write_field(tmp_path / "f.csv", yes), **site(**strip))
    assert "consent" not in codes(tables, "look closer")
    assert after["A"]["verdict"] == "approach"


def test_a_basement_told_keeps_the_garden_farther_off(tmp_path):
    # the garden behind is uphill of the house; with a basement it keeps 6 m, not 3
    uphill = site(plane=(0.0, -0.03))
    call = {"lot": "A", "what": "call", "basement": "yes"}
    lower = site(plane=(0.0, 0.03), roofs=[{"geometry": box(4, 12, 16, 22), "kind": "house"}])
    for place in (uphill, lower):
        told = judged(write_field(tmp_path / "f.csv", call), **place)[1]
        roofs = pd.Series(told["roof_pieces"]["basement"]).tolist()
        assert roofs == [True]


def test_an_empty_field_file_changes_nothing(tmp_path):
    (tmp_path / "f.csv").write_text(field_template(), encoding="utf-8")
    found, tables, context = judged(tmp_path / "f.csv", **site())
    plain, before, _ = judged(None, **site())
    assert found == plain
    pd.testing.assert_frame_equal(tables["reasons"], before["reasons"], check_dtype=False)
    lots = tables["candidates"][["lot_id"]].drop_duplicates().assign(verdict="approach", geometry=None)
    season = season_table({"lots": gpd.GeoDataFrame(lots), "candidates": tables["candidates"]}, context, None)
    assert len(season) == 0
    assert list(season.columns) == [field.name for field in TABLES["season"]]


def test_of_several_levels_at_one_place_the_last_counts(tmp_path):
    flat = site(plane=(0.0, 0.003))
    rows = [{"lot": "A", "what": "level", "at_house": 60, "at_spot": spot_cm} for spot_cm in (160, 88)]
    last = spot(judged(write_field(tmp_path / "f.csv", *rows), **flat)[1])
    assert last["fall_m"] + last["lip_m"] - last["ground_m"] == pytest.approx(0.28, abs=0.002)


def test_a_level_moves_cut_and_berm_with_the_ground(tmp_path):
    slope = site(plane=(0.0, 0.05))
    level = {"lot": "A", "what": "level", "at_house": 60, "at_spot": 70}  # 0.10 m: the lip must be sunk
    row = judged(write_field(tmp_path / "f.csv", level), **slope)[1]["candidates"].query("level_taken").iloc[0]
    assert row["lip_m"] < row["ground_m"] - 0.02
    assert row["cut_m"] == pytest.approx(row["ground_m"] + row["drop_m"] - row["lip_m"], abs=0.011)
    assert row["berm_m"] == pytest.approx(max(row["lip_m"] + 0.05 - row["ground_m"] + row["drop_m"], 0.0), abs=0.011)


def test_of_several_consents_the_last_counts(tmp_path):
    strip = {"easements": [{"geometry": box(-5, 9, 25, 11), "name": "old ditch"}]}
    yes = {"lot": "A", "what": "consent", "consent_of": "easement", "consent": "yes"}
    taken_back = judged(write_field(tmp_path / "f.csv", yes, {**yes, "consent": "no"}), **site(**strip))
    assert taken_back[2].field.consents == frozenset()
    given = judged(write_field(tmp_path / "g.csv", {**yes, "consent": "no"}, yes), **site(**strip))
    assert given[2].field.consents == {"A"}


def test_of_several_tests_at_a_place_the_slowest_counts(tmp_path):
    for number, order in enumerate(((30, 14), (14, 30))):
        holes = [hole("A", 10, hours, x=10, y=5.5) for hours in order]
        row = spot(judged(write_field(tmp_path / f"{number}.csv", *holes), **site())[1])
        # (75 / 30) ln(675 / 75) mm/h
        assert row["ksat_um_s"] * 3.6 == pytest.approx(75 / 30 * np.log(9), abs=0.02)

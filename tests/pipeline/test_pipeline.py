"""What must hold of a whole run, whatever the area."""

import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from screening import Rules
from screening.fields import TABLES
from screening.pipeline import screen
from screening.progress import SilentProgress
from screening.result import RANKED
from screening.sources import Window
from screening.units import FOOT_M


def numbers(column):
    return column.astype("Float64").to_numpy(dtype=float, na_value=np.nan)


def test_every_input_lot_appears_once_in_order(result, area):
    assert result.lots["lot_id"].tolist() == sorted(area.layers["lots"]["lot_id"])
    assert len(result.lots) == 9


def test_every_table_has_its_declared_columns(result):
    for name, table in result.tables.items():
        assert list(table.columns) == [field.name for field in TABLES[name] if field.name in table.columns]
        missing = {field.name for field in TABLES[name]} - set(table.columns)
        assert missing <= {"geometry"}, (name, missing)


def test_every_lot_has_a_verdict_and_all_but_ruled_out_are_ranked(result):
    lots = result.lots
    assert set(lots["verdict"]) <= {"approach", "test soil first", "look closer", "ruled out"}
    ranked = lots["verdict"] != "ruled out"
    assert lots.loc[ranked, "rank"].notna().all()
    assert lots.loc[~ranked, "rank"].isna().all()
    assert sorted(lots.loc[ranked, "rank"]) == list(range(1, int(ranked.sum()) + 1))


def test_no_soil_map_is_never_scored_as_good(result):
    """Nothing unknown is quietly scored as good: without soils nothing is approached, and soil scores nothing."""
    lots = result.lots
    assert (lots["verdict"] != "approach").all()
    ranked = lots[lots["rank"].notna()]
    assert (ranked["value_soil"] == 0).all()
    assert (ranked["hsg_spot"].fillna("unknown") == "unknown").all()
    assert lots["year_captured_m3"].isna().all()


def test_roof_pieces_add_up_to_what_lies_on_lots_and_shares_to_their_pieces(result, area):
    pieces, shares = result.tables["roof_pieces"], result.tables["roof_shares"]
    on_lots = area.layers["roofs"].geometry.intersection(area.layers["lots"].union_all()).area.sum()
    assert numbers(pieces["area_m2"]).sum() == pytest.approx(on_lots, abs=0.01 * len(pieces))
    shared = pieces[pieces["shared"].astype(bool)].set_index("piece_id")
    by_piece = shares.groupby("piece_id")["area_m2"].sum()
    assert by_piece.to_numpy(dtype=float) == pytest.approx(
        shared.loc[by_piece.index, "area_m2"].to_numpy(dtype=float), abs=0.05
    )
    geometry = shares.dissolve("piece_id").geometry.area
    assert geometry.to_numpy() == pytest.approx(shared.loc[geometry.index].geometry.area.to_numpy(), rel=1e-6)


def test_captured_is_never_more_than_shed_and_kept_never_more_than_captured(result):
    lots = result.lots
    shed, captured, kept = (numbers(lots[f"storm_{name}_m3"]) for name in ("runoff", "captured", "kept"))
    assert (np.nan_to_num(captured) <= shed + 0.01).all()
    assert (np.nan_to_num(kept) <= np.nan_to_num(captured) + 0.01).all()


def test_storm_runoff_is_the_volumetric_coefficient_times_depth_times_roofs(result):
    """R = Rv P A (Schueler 1987, Rv 0.95 for impervious ground): 38 mm on 99 m2 of roof sheds 3.57 m3."""
    first = result.lots.iloc[0]
    assert first["roof_area_m2"] == pytest.approx(99.0, abs=0.05)
    assert first["storm_runoff_m3"] == pytest.approx(0.95 * 0.038 * 99.0, abs=0.006)


def test_accumulation_where_water_leaves_adds_up_to_the_ground(result):
    direction = result.rasters["flow_direction"].read()
    accumulation = result.rasters["accumulation_cells"].read()
    leaves = (direction == 0) & (accumulation > 0)
    walls = accumulation == 0
    assert accumulation[leaves].sum() == direction.size - walls.sum()


def test_totals_by_street_add_up_to_totals_by_lot(result):
    lots, streets = result.lots, result.tables["streets"]
    assert streets["lots"].sum() == len(lots)
    assert numbers(streets["storm_runoff_m3"]).sum() == pytest.approx(numbers(lots["storm_runoff_m3"]).sum(), abs=0.02)
    ranked = lots["rank"].notna()
    kept = np.nansum(numbers(lots.loc[ranked, "storm_kept_m3"]))
    assert np.nansum(numbers(streets["storm_kept_m3"])) == pytest.approx(kept, abs=0.02)


def test_reasons_name_lots_and_the_verdict_follows_the_heaviest(result):
    reasons = result.tables["reasons"]
    outs = set(reasons.loc[reasons["severity"] == "rules out", "lot_id"])
    assert outs == set(result.lots.loc[result.lots["verdict"] == "ruled out", "lot_id"])


@pytest.mark.parametrize("lots_per_block", [1, 4])
def test_the_answer_does_not_depend_on_the_blocks(result, area, lots_per_block):
    again = screen(area, lots_per_block=lots_per_block)
    for name, table in result.tables.items():
        other = again.tables[name]
        pd.testing.assert_frame_equal(
            pd.DataFrame(table.drop(columns="geometry", errors="ignore")),
            pd.DataFrame(other.drop(columns="geometry", errors="ignore")),
        )
        if "geometry" in table.columns:
            assert table.geometry.to_wkb().tolist() == other.geometry.to_wkb().tolist(), name


@settings(max_examples=4, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.floats(0, 4), st.floats(0, 3))
def test_larger_setbacks_never_add_a_lot(result, area, more_house_m, more_line_m):
    rules = Rules(house_setback_m=3 + more_house_m, basement_setback_m=9, side_line_setback_m=1.5 + more_line_m)
    before = set(result.lots.loc[result.lots["verdict"] == "ruled out", "lot_id"])
    after = screen(area, rules).lots
    assert before <= set(after.loc[after["verdict"] == "ruled out", "lot_id"])


def test_the_record_tells_what_was_run_on_what(result):
    record = result.record
    assert record["counts"]["lots"] == 9
    assert record["elevation"]["rows"] == 120
    assert record["rules"]["house_setback_m"] == 3.0
    assert any(note["kind"] == "missing" and note["layer"] == "soils" for note in record["notes"])


def test_a_result_is_told_while_it_is_made(area, result):
    told, steps = [], []

    class Seen(SilentProgress):
        def step(self, *done):
            steps.append(done)

        def ground_known(self, found):
            told.append((found, len(steps)))

        lots_known = ground_known

    seen = Seen()
    whole = screen(area, watcher=seen, progress=seen)
    (ground, before), (lots, after) = told
    assert (before, ground.tables, after > 0) == (0, {}, True)
    for name, raster in result.rasters.items():
        rows, columns = raster.shape
        read = [one.rasters[name].read(Window(0, 0, rows, columns)) for one in (ground, lots, result)]
        assert np.array_equal(read[0], read[2], equal_nan=True), name
        assert np.array_equal(read[1], read[2], equal_nan=True), name
    settled = {name for name, table in whole.tables.items() if table is lots.tables.get(name)}
    assert settled >= set(whole.tables) - RANKED
    pd.testing.assert_frame_equal(whole.lots, result.lots)


def test_leads_end_ten_feet_from_any_foundation_and_below_the_house(result):
    """Common practice: a pipe's outlet keeps 10 ft from foundations, on ground lower than the house.

    Footprints are eaves: the foundation lies the overhang behind them.
    """
    leads = result.tables["leads"]
    ends = shapely.get_point(leads.geometry.to_numpy(), -1)
    houses = shapely.union_all(result.tables["roof_pieces"].geometry.to_numpy())
    assert len(ends) > 20
    assert (shapely.distance(ends, houses) + result.rules.roof_overhang_m >= 10 * FOOT_M).all()
    found = result.tables["candidates"].query("chosen")
    led = found[found["lot_id"].isin(result.lots.query("verdict == 'test soil first'")["lot_id"])]
    assert len(led) > 2
    assert (led["fall_m"] > 0).all()

import importlib.util
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy.special import ndtr
from threadpoolctl import threadpool_info, threadpool_limits

from screening.fields import TABLES, conform
from screening.ranking.best_of_lot import best_of_lots
from screening.ranking.chance_columns import with_chance_reasons, with_chances
from screening.ranking.chances import _rank_intervals, chances
from screening.ranking.error_field import error_field
from screening.ranking.ground_draws import ground_facts
from screening.ranking.score import score_lots
from screening.rules import Rules
from screening.siting.choose import choose
from screening.soils.conductivity import chance_slower, least_infiltration_mm_h


def _made_up():
    spec = importlib.util.spec_from_file_location("chance_tables", Path(__file__).parent / "chance_tables.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


MADE = _made_up()
CERTAIN = Rules(**MADE.CERTAIN, draws=20, visits=5)
SURE_SOIL = {**MADE.CERTAIN, "elevation_error_m": 0.1}


def test_without_uncertainty_a_chance_is_0_or_1_and_the_list_is_the_list():
    """The best of each lot, its score and its rank are those of the maps, candidate by candidate."""
    rows = [{**row, "chance_b": 1.0, "chance_d": 0.0, "ksat_spread": 1.0, "fall_error_m": 0.0} for row in MADE.many(40)]
    tables = MADE.tables_of(rows)
    table = tables["candidates"].assign(chosen=choose(tables["candidates"], CERTAIN))
    found = chances({**tables, "candidates": table}, CERTAIN)
    spots = table[table["chosen"]].set_index("lot_id").reindex(tables["lots"]["lot_id"])
    feasible = spots["fall_m"].notna().to_numpy(dtype=bool)
    assert set(np.unique(found.feasible)) == {0.0, 1.0}
    assert (found.feasible == feasible).all()
    lots = tables["lots"].assign(
        verdict=np.where(feasible, "approach", "ruled out"),
        ksat_spot_um_s=spots["ksat_um_s"].to_numpy(),
        slope_spot_pct=spots["slope_pct"].to_numpy(),
        spot_side=spots["side"].to_numpy(),
        storm_kept_m3=np.floor(100 * 0.95 * 0.038 * 45.0 * spots["kept_share"].astype(float).to_numpy() + 0.5) / 100,
        **{
            name: np.floor(spots[name].astype(float).to_numpy() / step + 0.5 + 1e-9) * step
            for name, step in (("fall_m", 0.01), ("fall_needed_m", 0.01), ("run_m", 0.1))
        },
        room_m2=spots["room_m2"].to_numpy(),
        ponding_area_m2=spots["ponding_area_m2"].to_numpy(),
    )
    rank = score_lots(lots, CERTAIN)["rank"].astype("Float64").to_numpy(dtype=float, na_value=0)
    assert found.rank_low.tolist() == found.rank_high.tolist() == rank.tolist()
    assert (found.in_first == ((rank > 0) & (rank <= 5))).all()
    assert found.in_first.sum() == 5


def test_chances_in_the_first_n_sum_to_the_gardens_there_are():
    """Mean over the draws of min(n, feasible lots), whether there are more lots than visits or fewer."""
    tables = MADE.tables_of(MADE.many(30))
    for visits in (3, 25, 100):
        found = chances(tables, Rules(draws=50, visits=visits))
        gardens = found.feasible_draws.sum(axis=0)
        assert found.in_first.sum() == pytest.approx(np.minimum(visits, gardens).mean())
        assert (found.in_first <= found.feasible + 1e-12).all()


def test_the_chance_of_a_lot_hangs_on_that_lot_alone():
    rows = MADE.many(12)
    rules = Rules(draws=40)
    together = chances(MADE.tables_of(rows), rules)
    again = chances(MADE.tables_of(rows[::-1]), rules)
    assert (together.feasible_draws == again.feasible_draws).all()
    assert (together.in_first == again.in_first).all()
    alone = chances(MADE.tables_of([row for row in rows if row["lot_id"] == "lot 0007"]), rules)
    assert (alone.feasible_draws[0] == together.feasible_draws[7]).all()
    assert (chances(MADE.tables_of(rows), Rules(draws=40, seed=2)).feasible_draws != together.feasible_draws).any()


def test_products_of_matrices_run_on_one_thread_whatever_the_process_allows(monkeypatch):
    seen = []

    def watched(*given):
        seen.append({pool["num_threads"] for pool in threadpool_info() if pool["user_api"] == "blas"})
        return best_of_lots(*given)

    monkeypatch.setattr("screening.ranking.chances.best_of_lots", watched)
    with threadpool_limits(2, "blas"):
        chances(MADE.tables_of(MADE.many(3)), Rules(draws=10))
        after = {pool["num_threads"] for pool in threadpool_info() if pool["user_api"] == "blas"}
    assert seen == [{1}]
    assert after == {2}


def test_the_chance_of_a_fall_is_the_normal_one_shrunk():
    """Fall 0.05 m short of sure over 8 m; share 0.3^2 / (0.3^2 + 0.1^2); the lot's even slope asks 3.5%: by hand."""
    tables = MADE.tables_of([MADE.candidate("a", 0, 0.0, 0.0, fall_margin_m=0.05, fall_m=0.18)])
    rules = Rules(**{**SURE_SOIL, "draws": 10000})
    error = 0.1 * np.sqrt(2 * (1 - np.exp(-(8.0**2) / 200.0)))
    share = 0.09 / 0.10
    mean = 0.05 + (share - 1) * (0.18 - 0.035 * 8.0)
    assert chances(tables, rules).ground[0] == pytest.approx(ndtr(mean / (np.sqrt(share) * error)), abs=0.015)
    flat = tables["lots"].assign(flow_direction_deg=pd.array([pd.NA], dtype="Float64"))
    less = chances({**tables, "lots": flat}, rules).ground[0]
    assert less == pytest.approx(ndtr((0.05 + (share - 1) * 0.18) / (np.sqrt(share) * error)), abs=0.015)


def test_the_chance_of_a_soil_is_the_mixture_of_its_groups():
    """0.7 of group B, 0.2 of D, 0.1 of any; each lognormal, as soils.conductivity mixes them."""
    tables = MADE.tables_of([MADE.candidate("a", 0, 0.0, 0.0, chance_b=0.7, chance_d=0.2)])
    rules = Rules(**{**MADE.CERTAIN, "infiltration_spread": 2.0, "draws": 10000})
    found = chances(tables, rules)
    slower = chance_slower([20.0, 8.0, 4.0, 1.5], least_infiltration_mm_h(rules), 2.0)
    slow = 0.7 * slower[1] + 0.2 * slower[3] + 0.1 * slower.mean()
    assert found.feasible[0] == pytest.approx(1 - slow, abs=0.015)
    assert found.ground[0] == 1.0


def test_soils_of_one_map_unit_are_fast_or_slow_together():
    """Far apart on one unit: correlation of the rates w = 0.5, on two units none, and each chance as if alone."""
    rules = Rules(**{**MADE.CERTAIN, "infiltration_spread": 2.0, "draws": 4000})
    soil = {"chance_b": 1.0, "ksat_um_s": 4.2 / 3.6, "ksat_source": "survey"}
    rows = [
        MADE.candidate("a", 0, 0.0, 0.0, soil_name="Made-up loam", **soil),
        MADE.candidate("b", 0, 9000.0, 0.0, soil_name="Made-up loam", **soil),
        MADE.candidate("c", 0, 0.0, 9000.0, soil_name="Made-up silt", **soil),
        MADE.candidate("d", 0, 20.0, 0.0, soil_name="Made-up loam", **soil),
        MADE.candidate("e", 0, 20.0, 5.0, soil_name="Made-up loam", **{**soil, "ksat_source": "test"}),
    ]
    drawn = chances(MADE.tables_of(rows), rules).feasible_draws
    assert drawn.mean(axis=1) == pytest.approx([0.505] * 5, abs=0.03)
    alike = np.corrcoef(drawn)[0]
    # of two normals with correlation r, both above or both below their medians: 2 asin(r) / pi (Sheppard)
    assert alike[1] == pytest.approx(2 * np.arcsin(0.5) / np.pi, abs=0.06)
    assert alike[2] == pytest.approx(0.0, abs=0.06)
    near = 0.5 + 0.5 * np.exp(-(20.0**2) / (2 * 100.0**2))
    assert alike[3] == pytest.approx(2 * np.arcsin(near) / np.pi, abs=0.06)
    assert alike[4] == pytest.approx(0.0, abs=0.06)


def test_slopes_shrink_towards_the_lot_and_unseen_places_help():
    """Slope 16% on a lot of 6%: share 2^2 / (2^2 + 1^2), mean 14, sigma 0.894 against the limit of 15: by hand."""
    tables = MADE.tables_of([MADE.candidate("a", 0, 0.0, 0.0, slope_pct=16.0)])
    tables["lots"] = tables["lots"].assign(slope_lot_pct=6.0)
    rules = Rules(**{**MADE.CERTAIN, "slope_error_pct": 1.0, "search_gain": 0.0, "draws": 4000})
    found = chances(tables, rules)
    assert found.feasible[0] == found.ground[0] == pytest.approx(ndtr(1.05 / np.sqrt(0.8)), abs=0.02)
    more = chances(tables, rules.model_copy(update={"search_gain": 1.0}))
    assert more.ground[0] == found.ground[0]
    assert more.feasible[0] > found.feasible[0] + 0.05


def test_a_poor_soil_alone_asks_for_a_test_and_not_for_a_look():
    """Group C at its design value fails the pond's 36 h more often than not; the ground is sure all the same."""
    soil = {"hsg": "C", "chance_b": 0.0, "chance_c": 1.0, "ksat_um_s": 4.0 / 3.6}
    tables = MADE.tables_of([MADE.candidate("a", 0, 0.0, 0.0, fall_margin_m=1.0, fall_m=1.13, **soil)])
    found = chances(tables, Rules())
    assert found.feasible[0] < 0.5
    assert found.ground[0] > 0.99
    assert with_chance_reasons(tables["reasons"], tables["lots"]["lot_id"], found.ground, Rules()) is tables["reasons"]


def test_a_spot_that_holds_in_few_draws_is_looked_at_closer():
    rows = [
        MADE.candidate("a", 0, 0.0, 0.0, fall_margin_m=0.0, fall_m=0.13),
        MADE.candidate("b", 0, 200.0, 0.0, fall_margin_m=0.5, fall_m=0.63),
    ]
    tables = MADE.tables_of(rows)
    flat = tables["lots"].assign(slope_lot_pct=0.0)
    found = chances({**tables, "lots": flat}, Rules())
    assert found.ground[0] < 0.5 < 0.99 < found.ground[1]
    note = conform(
        pd.DataFrame({"lot_id": ["a", "b"], "code": "buried_unknown", "severity": "note", "near": False}),
        TABLES["reasons"],
    )
    reasons = with_chance_reasons(note, tables["lots"]["lot_id"], found.ground, Rules())
    assert reasons["code"].tolist() == ["chance", "buried_unknown", "buried_unknown"]
    first = reasons.iloc[0]
    assert (first["lot_id"], first["severity"], first["limit"]) == ("a", "look closer", 0.5)
    assert first["measured"] == pytest.approx(found.ground[0], abs=1e-3)


def test_a_second_place_as_good_counts_and_one_that_wants_consent_does_not():
    first = MADE.candidate("a", 0, 0.0, 0.0, fall_margin_m=0.0, fall_m=0.13)
    second = {**MADE.candidate("a", 1, 15.0, 0.0, fall_margin_m=0.6, fall_m=0.73), "chosen": False}
    tables = MADE.tables_of([first, second])
    assert chances(tables, Rules()).ground[0] > 0.99
    asked = MADE.tables_of([first, {**second, "crosses_easement": True}])
    assert chances(asked, Rules()).ground[0] < 0.9
    assert chances(asked, Rules(**SURE_SOIL)).feasible[0] > 0.99


def test_what_no_draw_moves_stays_out():
    tables = MADE.tables_of([MADE.candidate(lot, 0, 200.0 * n, 0.0) for n, lot in enumerate("abc")])
    out = pd.DataFrame({"lot_id": ["b"], "code": ["not_assessed"], "severity": ["rules out"], "near": [False]})
    lots = tables["lots"].assign(contact_status=pd.array(["built", None, None], dtype="str"))
    found = chances({**tables, "lots": lots, "reasons": conform(out, TABLES["reasons"])}, Rules(visits=3))
    assert found.feasible[1] == 0.0
    assert found.feasible[0] > 0.5
    assert found.in_first[0] == found.in_first[1] == 0.0
    assert found.in_first[2] == found.feasible[2]
    columns = with_chances(lots, found)
    assert columns["rank_low"].isna().tolist() == [True, True, False]


def test_a_larger_roof_needs_more_room():
    """A garden that just fits holds too little when the roof is larger than digitized: in half of the draws."""
    rules = Rules(**{**MADE.CERTAIN, "roof_error_pct": 3.0, "draws": 4000})
    tight, roomy = (
        MADE.tables_of([MADE.candidate("a", 0, 0.0, 0.0, room_m2=room, capture_most_mm=38.0)]) for room in (6.0, 6.36)
    )
    assert chances(tight, rules).feasible[0] == pytest.approx(0.5, abs=0.03)
    assert chances(roomy, rules).feasible[0] == pytest.approx(ndtr(2.0), abs=0.02)


def test_no_lots_and_lots_without_candidates():
    tables = MADE.tables_of([MADE.candidate("a", 0, 0.0, 0.0)])
    none = {**tables, "candidates": tables["candidates"].iloc[:0], "leads": tables["leads"].iloc[:0]}
    found = chances(none, Rules())
    assert found.feasible.tolist() == [0.0]
    assert np.isnan(found.ground[0])
    assert chances({**none, "lots": tables["lots"].iloc[:0]}, Rules()).feasible.size == 0


def test_a_second_garden_raises_the_lot_in_the_draws():
    """Three equal lots, one visit: the one with a second garden that stands is first in every draw."""
    rows = []
    for number, lot in enumerate("abc"):
        rows.append(MADE.candidate(lot, 0, 300.0 * number, 0.0))
        rows.append({**MADE.candidate(lot, 1, 300.0 * number + 20.0, 0.0, slope_pct=9.0), "chosen": False})
    rows[3]["second"] = True
    rules = Rules(**{**MADE.CERTAIN, "draws": 20, "visits": 1})
    assert chances(MADE.tables_of(rows), rules).in_first.tolist() == [0.0, 1.0, 0.0]
    rows[3]["slope_pct"] = 16.0  # too steep: it does not stand, and the first lot by its id leads
    assert chances(MADE.tables_of(rows), rules).in_first.tolist() == [1.0, 0.0, 0.0]


def test_a_place_that_wants_a_test_is_as_good_as_a_spot_that_wants_none():
    first = MADE.candidate("a", 0, 0.0, 0.0, fall_margin_m=0.0, fall_m=0.13)
    soil = {"hsg": "C", "chance_b": 0.0, "chance_c": 1.0, "ksat_um_s": 4.0 / 3.6}
    second = {**MADE.candidate("a", 1, 15.0, 0.0, fall_margin_m=0.6, fall_m=0.73, **soil), "chosen": False}
    assert chances(MADE.tables_of([first, second]), Rules()).ground[0] > 0.99


@pytest.mark.parametrize("axis", [0.0, 180.0])
def test_where_the_fall_is_more_than_measured_the_ground_is_steeper(axis):
    """A lead to the south, the error's slope counted down the hill whichever way the long axis is written."""
    tables = MADE.tables_of([MADE.candidate("a", 0, 0.0, 0.0, long_axis_deg=axis)])
    facts = ground_facts(tables["candidates"], tables["leads"], np.zeros((1, 2)), np.array([4.0]), Rules())
    field = error_field(10.0, 4000, 1)
    margin, slope = (drawn[0] for drawn in facts.draws(field, slice(0, 1)))
    assert np.corrcoef(margin, slope)[0, 1] > 0.3


WATER_ONLY = {
    **MADE.CERTAIN,
    **{f"weight_{name}": 0 for name in ("soil", "lead", "slope", "room", "side")},
    "draws": 20,
    "visits": 1,
}


def test_a_garden_keeps_no_more_than_its_lot_sheds():
    tables = MADE.tables_of([MADE.candidate(lot, 0, 300.0 * n, 0.0) for n, lot in enumerate("ab")])
    assert chances(tables, Rules(**WATER_ONLY)).in_first.tolist() == [1.0, 0.0]
    lots = tables["lots"].assign(storm_runoff_m3=[0.5, 10.0])
    assert chances({**tables, "lots": lots}, Rules(**WATER_ONLY)).in_first.tolist() == [0.0, 1.0]


def test_lawn_that_runs_on_lowers_the_lot_in_the_draws():
    """Two lots alike, the first with lawn uphill, the second with none; where it is not known nothing is kept."""
    for lawn in (1.0, np.nan):
        rows = [MADE.candidate("a", 0, 0.0, 0.0, run_on_m3=lawn), MADE.candidate("b", 0, 500.0, 0.0, run_on_m3=0.0)]
        tables = MADE.tables_of(rows)
        asked = CERTAIN.model_copy(update={"run_on": True})
        assert chances(tables, CERTAIN).rank_low.tolist() == [1, 2]
        assert chances(tables, asked).rank_low.tolist() == [2, 1]


def test_room_to_grow_holds_no_more_than_the_size_that_is_built():
    rows = [MADE.candidate("a", 0, 0.0, 0.0, room_m2=6.5), MADE.candidate("b", 0, 300.0, 0.0, room_m2=12.0)]
    assert chances(MADE.tables_of(rows), Rules(**WATER_ONLY, storm_depth_mm=80)).in_first.tolist() == [1.0, 0.0]


def test_a_rank_interval_leaves_as_many_draws_on_either_side():
    """Eight of ten draws: of the ranks 1 to 100 those from 11 to 90; a draw without a garden counts as the last.

    The second lot is 7th in half of the draws, and last, 1 to 50, in the others: ten of these lie over 40.
    """
    rank = np.vstack([np.arange(1, 101), np.where(np.arange(100) < 50, 0, 7), np.zeros(100, dtype=np.int64)])
    low, high = _rank_intervals(rank, 0.8)
    assert (low.tolist(), high.tolist()) == ([11, 7, 0], [90, 40, 0])

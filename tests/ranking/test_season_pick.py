import numpy as np
import pandas as pd
import pytest
from scipy.special import ndtr

from screening.errors import BadInput
from screening.fields import TABLES, conform
from screening.ranking.season_pick import Asked, Funnel, funnel, lot_values_l, season_pick, shares_by_zone
from screening.ranking.soil_test_gain import knowing_gain_l, soil_test_gains
from screening.rules import Rules

RULES = Rules(visits=3)


def lots_table(**changes):
    table = pd.DataFrame(
        {
            "lot_id": list("abcdef"),
            "street": ["Elm", "Elm", "Elm", "Oak", "Oak", None],
            "address": ["12 Elm", "2 Elm", "101 Elm", "5 Oak", "3 Oak", None],
            "zone": ["North", "North", "North", "South", "South", "South"],
            "rank": [1, 2, 3, 4, 5, None],
            "chance_feasible": [1.0, 0.5, 0.9, 0.5, 0.25, 1.0],
            "year_kept_m3": [10.0, 10.0, 10.0, 8.0, 8.0, 99.0],
            "storm_kept_m3": [1.0] * 6,
        }
    ).assign(**changes)
    return conform(table, TABLES["lots"])


def ids(found):
    return found.lots["lot_id"].tolist()


def test_value_is_chance_times_water_in_whole_litres():
    values, by = lot_values_l(lots_table())
    assert by == "year"
    assert values.tolist() == [10000, 5000, 9000, 4000, 2000, 99000]
    values, by = lot_values_l(lots_table(year_kept_m3=np.nan))
    assert (by, values[1]) == ("storm", 500)


def test_most_water_within_the_visits_and_off_the_list_stays_off():
    found = season_pick(lots_table(), RULES)
    assert sorted(ids(found)) == ["a", "b", "c"]
    assert found.pick.value == 24000
    assert found.pick.proven


def test_visit_order_is_by_street_then_by_house():
    found = season_pick(lots_table(), RULES, Asked(visits=5))
    assert ids(found) == ["b", "a", "c", "e", "d"]


def test_caps_floors_and_lots_in_and_out():
    assert sorted(ids(season_pick(lots_table(), RULES, Asked(street_cap=1)))) == ["a", "d"]
    assert sorted(ids(season_pick(lots_table(), RULES, Asked(zone_floors={"South": 2})))) == ["a", "d", "e"]
    asked = Asked(inside=["e"], outside=["a"])
    assert sorted(ids(season_pick(lots_table(), RULES, asked))) == ["b", "c", "e"]
    assert "f" in ids(season_pick(lots_table(), RULES, Asked(inside=["f"])))


def test_a_budget_buys_whole_gardens():
    assert sorted(ids(season_pick(lots_table(), RULES, Asked(budget=5999.0, cost=2000.0)))) == ["a", "c"]
    assert ids(season_pick(lots_table(), RULES, Asked(budget=5999.0, cost=2000.0, visits=1))) == ["a"]


def test_what_is_not_there_is_told_all_at_once():
    with pytest.raises(BadInput) as raised:
        season_pick(lots_table(), RULES, Asked(inside=["z"], zone_floors={"West": 1}, budget=10.0))
    assert [fault.what for fault in raised.value.faults] == [
        "No lot z",
        "No zone West",
        "A budget needs what a garden costs",
    ]
    with pytest.raises(BadInput, match="No pick keeps"):
        season_pick(lots_table(), RULES, Asked(visits=1, zone_floors={"South": 2}))


def test_shares_by_zone_stand_beside_the_households():
    table = shares_by_zone(season_pick(lots_table(), RULES).lots, lots_table())
    assert table.to_dict("list") == {
        "zone": ["North", "South"],
        "picked": [3, 0],
        "picked_share": [1.0, 0.0],
        "lots": [3, 3],
        "lots_share": [0.5, 0.5],
    }


def test_twelve_built_is_approach_160():
    """12 / 0.5 = 24 visits, 24 / 0.15 = 160 households."""
    assert funnel(Rules(), built=12) == Funnel(160, 24, 12)
    assert funnel(Rules(), visits=30) == Funnel(200, 30, 15)
    with pytest.raises(BadInput):
        funnel(Rules(answer_share=0.0), visits=3)
    with pytest.raises(ValueError, match="either"):
        funnel(Rules())


def test_gain_of_knowing_a_soil():
    """By hand: in the list at 6 with chance 0.5, the next at 4: 0.5 x 12 + 0.5 x 4 - 6 = 2."""
    gain = knowing_gain_l(np.array([6.0, 3.0, 2.0, 6.0]), np.array([0.5, 0.5, 0.5, 1.0]), np.array([4.0] * 4))
    assert gain.tolist() == [2.0, 1.0, 0.0, 0.0]


def spots_table():
    spots = pd.DataFrame(
        {
            "lot_id": list("abcde"),
            "chosen": True,
            "hsg": ["A", "C", "B", "C", "C"],
            "chance_a": [1.0, 0, 0, 0, 0],
            "chance_b": [0, 0, 1.0, 0, 0],
            "chance_c": [0, 1.0, 0, 1.0, 1.0],
            "ksat_um_s": [20 / 3.6, 4 / 3.6, 8 / 3.6, 4 / 3.6, 4 / 3.6],
            "ksat_source": ["group", "test", "group", "group", "group"],
            "ksat_spread": 2.0,
        }
    )
    return conform(spots, TABLES["candidates"])


def test_tests_that_gain_most_come_first_and_tested_soils_are_left_out():
    gains = soil_test_gains(lots_table(), spots_table(), Rules(), 3)
    assert gains["lot_id"].tolist() == ["d", "c", "a"]
    serves = float(ndtr(np.log(4.0 / (150 / 36)) / np.log(2.0)))
    assert serves == pytest.approx(0.4765, abs=1e-4)
    assert gains["gain_l"][0] == pytest.approx(serves * (4000 / serves - 5000), abs=1)


def test_a_lot_s_own_pond_decides_what_its_soil_must_take():
    """A pond of 75 mm on a bed of 300 mm: (75 + 0.4 x 300) / 72 h = 2.708 mm/h; the area asks 150 / 36 h = 4.167."""
    own = {"d": {"ponding_depth_mm": 75.0}}
    gains = soil_test_gains(lots_table(), spots_table(), Rules(), 3, own).set_index("lot_id")
    plain = soil_test_gains(lots_table(), spots_table(), Rules(), 3).set_index("lot_id")
    serves = float(ndtr(np.log(4.0 / (195 / 72)) / np.log(2.0)))
    assert gains.loc["d", "chance_soil"] == pytest.approx(serves)
    assert gains.loc["d", "gain_l"] == round(4000 - 5000 * serves) == 434
    assert gains.loc["c"].equals(plain.loc["c"])
    as_area = soil_test_gains(lots_table(), spots_table(), Rules(ponding_depth_mm=75.0), 3).set_index("lot_id")
    assert as_area.loc["d", "chance_soil"] == pytest.approx(gains.loc["d", "chance_soil"])

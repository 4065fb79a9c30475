"""A common plot drawn whole under the lots that lie in it, and two lots drawn over each other, all the way through."""

import geopandas as gpd
import pandas as pd
import pytest
import shapely
from shapely.geometry import box

from screening import area_from_layers
from screening.pipeline import screen
from tests.pipeline.conftest import NORTH, UTM, WEST, made_up_area

COMMON = box(WEST + 10, NORTH - 64, WEST + 63.5, NORTH - 15)
"""Holds lots 000 and 001 and what lies around them, street side too; of lot 002 a strip of half a metre."""


def with_lots(**shapes):
    """The made-up neighbourhood with some lots more, or drawn otherwise."""
    area = made_up_area()
    lots = area.layers["lots"].set_index("lot_id").geometry.to_dict() | shapes
    table = gpd.GeoDataFrame({"lot_id": list(lots)}, geometry=list(lots.values()), crs=UTM)
    roofs, streets = area.layers["roofs"], area.layers["streets"]
    return area_from_layers(area.elevation, table, roofs, streets=streets, title="Made up")


@pytest.fixture(scope="module")
def common():
    return screen(with_lots(common=COMMON))


def test_lots_within_a_common_plot_are_judged_on_all_their_ground(result, common):
    alone, lots = (pd.DataFrame(one.lots).set_index("lot_id") for one in (result, common))
    ours = lots.loc[alone.index]
    columns = ["lot_area_m2", "roof_area_m2", "storm_runoff_m3", "open_ground_m2", "verdict"]
    pd.testing.assert_frame_equal(ours[columns], alone[columns])
    assert "another lot" not in set(common.tables["taken"].query("lot_id != 'common'")["constraint"])


def test_the_common_plot_is_what_remains_and_sheds_no_roof(common):
    lots = common.lots.set_index("lot_id")
    alone = shapely.area(COMMON) - 2 * 22 * 40 - 0.5 * 40
    assert lots.loc["common", "lot_area_m2"] == pytest.approx(alone, abs=0.1)
    assert lots.geometry["common"].area == pytest.approx(alone, abs=1e-6)
    assert not (common.tables["roof_pieces"]["lot_id"] == "common").any()
    told = common.tables["problems"].query("layer == 'lots'")
    assert told[["feature", "problem", "done"]].values.tolist() == [
        ["common", "overlaps lot 000, 001 by 1,760.0 m2", "cut"]
    ]
    assert "1 strips under 0.5 m wide where lots overlap were left to the smaller lot." in [
        note.text for note in common.notes
    ]


def test_streets_count_every_roof_once(result, common):
    columns = ["roof_area_m2", "storm_runoff_m3"]
    for column in columns:
        assert common.tables["streets"][column].sum() == pytest.approx(result.tables["streets"][column].sum())


def test_which_lot_keeps_the_ground_hangs_on_no_block():
    over = made_up_area().layers["lots"].geometry[1]
    area = with_lots(**{"001": shapely.union(over, shapely.affinity.translate(over, -9, 0)), "common": COMMON})
    whole, parts = screen(area), screen(area, lots_per_block=2)
    columns = ["lot_id", "lot_area_m2", "roof_area_m2", "open_ground_m2", "verdict", "storm_kept_m3"]
    pd.testing.assert_frame_equal(pd.DataFrame(whole.lots[columns]), pd.DataFrame(parts.lots[columns]))
    roofs = area.layers["roofs"].area.sum()
    assert whole.tables["roof_pieces"]["area_m2"].sum() == pytest.approx(roofs)


def test_a_plot_of_which_nothing_is_left_has_a_row_with_the_lot_that_stands_for_it():
    street_side, back = (box(WEST + 15, NORTH - low, WEST + 37, NORTH - high) for low, high in ((60, 45), (45, 20)))
    found = screen(with_lots(A1=street_side, A2=back)).lots.set_index("lot_id")
    assert found.loc["000", "place"] == "A2"
    assert found.loc["A2", "shared_with"] == "000"
    assert found.loc["000", "verdict"] == found.loc["A2", "verdict"]
    assert found.loc[["000"], ["rank", "storm_runoff_m3"]].isna().all(axis=None)
    assert found.geometry["000"].area == pytest.approx(880)

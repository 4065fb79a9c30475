import geopandas as gpd
import numpy as np
import shapely
from affine import Affine

from screening.rules import Rules
from screening.soils.by_lot import lot_groups, soil_lots, unit_cells
from screening.soils.map_units import from_groups

RULES = Rules()


def soils():
    frame = gpd.GeoDataFrame(
        {"g": ["B", "C/D", "oops"]},
        geometry=[shapely.box(0, 0, 6, 10), shapely.box(6, 0, 10, 10), shapely.box(10, 0, 20, 10)],
    )
    return from_groups(frame, "g", RULES)


def masks():
    """Lots 0 to 2 of 10 x 10 cells of 1 m, side by side; lot 2 beyond the map."""
    lot = np.repeat([0, 1, 2], 10)[None, :].repeat(10, axis=0).astype(np.int32)
    return lot, np.ones(lot.shape, dtype=bool), np.zeros(lot.shape, dtype=bool)


def test_cells_take_the_unit_at_their_centre():
    unit = unit_cells(soils(), Affine(1, 0, 0, 0, -1, 10), (10, 30))
    labels = np.append(soils().units["hsg"].to_numpy(), "none")[unit[0]]
    assert labels.tolist() == ["B"] * 6 + ["C/D"] * 4 + ["unknown"] * 10 + ["none"] * 10
    assert (unit_cells(None, Affine(1, 0, 0, 0, -1, 10), (2, 2)) == -1).all()


def test_shares_of_the_open_ground():
    lot, open_ground, roofs = masks()
    open_ground[:, :2] = False
    unit = unit_cells(soils(), Affine(1, 0, 0, 0, -1, 10), lot.shape)
    table = soil_lots(lot, open_ground, roofs, unit, ["a", "b", "c"], soils().units, 1.0)
    assert table["lot_id"].tolist() == ["a", "a", "b", "c"]
    assert table["hsg"].tolist() == ["C/D", "B", "unknown", "unknown"]  # of equal shares, the slower first
    assert table["share"].tolist() == [0.5, 0.5, 1.0, 1.0]
    assert table["area_m2"].tolist() == [40.0, 40.0, 100.0, 100.0]
    assert table["source"].tolist() == ["survey", "survey", "none", "none"]


def test_a_lot_without_open_ground_is_judged_by_its_ground_without_roofs():
    lot, open_ground, roofs = masks()
    open_ground[:, :10] = False
    roofs[:, :5] = True
    unit = unit_cells(soils(), Affine(1, 0, 0, 0, -1, 10), lot.shape)
    table = soil_lots(lot, open_ground, roofs, unit, ["a", "b", "c"], soils().units, 0.25)
    first = table[table["lot_id"] == "a"]
    assert first["hsg"].tolist() == ["C/D", "B"]
    assert first["share"].tolist() == [0.8, 0.2]
    assert first["area_m2"].tolist() == [10.0, 2.5]
    groups = lot_groups(table)
    assert groups["hsg"].tolist() == ["C/D", "unknown", "unknown"]
    assert groups["hsg_share"].tolist() == [0.8, 1.0, 1.0]
    assert groups["hsg_source"].tolist() == ["survey", "none", "none"]


def test_a_lot_without_any_ground_and_an_area_without_a_map_are_unknown():
    lot, open_ground, roofs = masks()
    lot[lot == 1] = -1
    table = soil_lots(lot, open_ground, roofs, np.full(lot.shape, -1, np.int32), ["a", "b", "c"], None, 1.0)
    assert table["hsg"].tolist() == ["unknown"] * 3
    assert table["share"].tolist() == [1.0] * 3
    assert table["area_m2"].tolist() == [100.0, 0.0, 100.0]

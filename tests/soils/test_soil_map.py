import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from screening.errors import BadInput
from screening.rules import Rules
from screening.soils.soil_map import soil_map

RULES = Rules()


def polygons(**columns):
    count = len(next(iter(columns.values())))
    missing = pd.array([None] * count, dtype="str")
    squares = [shapely.box(10 * k, 0, 10 * k + 10, 10) for k in range(count)]
    return gpd.GeoDataFrame({"mukey": missing, "group": missing, **columns}, geometry=squares)


def test_polygons_with_keys_get_their_map_units(tables):
    made, notes = soil_map(polygons(mukey=["3", "1", "3"]), tables, RULES)
    assert made.polygons["unit"].tolist() == ["3", "1", "3"]
    assert made.units.loc[made.polygons["unit"], "hsg"].tolist() == ["C/D", "B", "C/D"]
    assert notes == ()


def test_left_over_and_doubled_keys_are_counted_and_named(tables):
    tables["mapunit"] = pd.concat([tables["mapunit"], tables["mapunit"].iloc[:1]])
    given = polygons(mukey=["1", "77", None], group=["D", "A", None])
    made, notes = soil_map(given, tables, RULES)
    assert made.units.loc[made.polygons["unit"], "hsg"].tolist() == ["B", "A", "unknown"]
    assert made.units.index.is_unique
    assert [note.text for note in notes] == [
        "2 soil polygons have a key that the survey's tables lack: '', '77'",
        "1 repeated map units in table mapunit were left out",
    ]


def test_plain_polygons():
    made, notes = soil_map(polygons(group=["B", "C/D"]), {}, RULES)
    assert made.units.loc[made.polygons["unit"], "hsg"].tolist() == ["B", "C/D"]
    assert made.units.loc[made.polygons["unit"], "name"].tolist() == ["soil group B", "soil group C/D"]
    assert notes == ()


def test_groups_that_are_none_are_told():
    made, notes = soil_map(polygons(group=["B", "E"]), {}, RULES)
    assert made.units.loc[made.polygons["unit"], "hsg"].tolist() == ["B", "unknown"]
    assert [note.text for note in notes] == [
        "group: 'E' (1) not understood, taken as unknown. Known: A, B, C, D, A/D, B/D, C/D."
    ]
    assert soil_map(polygons(group=["B", None]), {}, RULES)[1] == ()
    with pytest.raises(BadInput, match=r"found: 'B/C' \(1\), 'loam' \(1\)"):
        soil_map(polygons(group=["loam", "B/C"]), {}, RULES)


def test_conductivity_without_a_group_is_enough():
    given = polygons(name=["loam", "sand"], ksat_um_s=pd.array([9.0, None], dtype="Float64"))
    made, _ = soil_map(given, {}, RULES)
    units = made.units.loc[made.polygons["unit"]]
    assert units["hsg"].tolist() == ["unknown", "unknown"]
    assert units["ksat_um_s"].tolist() == pytest.approx([9.0, np.nan], nan_ok=True)
    assert units["name"].tolist() == ["loam", "sand"]


def test_polygons_that_say_nothing_are_refused():
    with pytest.raises(BadInput, match="No value of column 'group' is a soil group"):
        soil_map(polygons(group=["loam"]), {}, RULES)

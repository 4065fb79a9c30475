import geopandas as gpd
import numpy as np
import pytest
from affine import Affine
from pandas.testing import assert_frame_equal
from pyproj import CRS
from shapely.geometry import Point

from screening.errors import BadInput
from screening.grid import Grid
from screening.inputs import area_from_layers, read_area
from tests.inputs.made_up import NORTH, UTM, WEST, lots, plane, roofs, write_area


def grid(crs=UTM):
    return Grid.from_array(plane(), Affine(1, 0, WEST, 0, -1, NORTH), crs=CRS(crs) if crs else None)


def named_lots():
    return lots().rename(columns={"parcel": "lot_id", "road": "street"})


def named_roofs():
    return roofs().rename(columns={"use": "kind"})


def test_tables_in_memory_make_the_same_area_as_files(tmp_path):
    from_files = read_area(write_area(tmp_path)).area
    in_memory = area_from_layers(grid(), named_lots(), named_roofs(), title="Made up")
    assert in_memory.title == from_files.title
    assert in_memory.crs == from_files.crs
    np.testing.assert_array_equal(in_memory.elevation.values, from_files.elevation.values)
    assert_frame_equal(
        in_memory.layers["lots"].drop(columns="geometry"), from_files.layers["lots"].drop(columns="geometry")
    )
    assert in_memory.layers["lots"].geometry.geom_equals_exact(from_files.layers["lots"].geometry, 1e-9).all()
    assert [note for note in in_memory.notes if note.kind == "missing"] == [
        note for note in from_files.notes if note.kind == "missing"
    ]


def test_what_was_given_is_not_changed():
    given = named_lots().to_crs("EPSG:4326")
    before = given.copy(deep=True)
    area_from_layers(grid(), given, named_roofs())
    assert_frame_equal(given, before)


def test_other_layers_and_columns_that_are_not_ours():
    trees = gpd.GeoDataFrame({"trunk_m": [0.4], "owner": ["x"]}, geometry=[Point(WEST + 20, NORTH - 5)], crs=UTM)
    area = area_from_layers(grid(), named_lots().assign(owner="x"), named_roofs(), trees=trees, surface=grid())
    assert list(area.layers["trees"].columns) == ["trunk_m", "crown_m", "geometry"]
    assert "owner" not in area.layers["lots"].columns
    assert area.given("trees")
    assert not any(note.layer in ("trees", "surface") for note in area.notes if note.kind == "missing")


def test_every_fault_at_once():
    bare = gpd.GeoDataFrame(geometry=[Point(0, 0)])
    with pytest.raises(BadInput) as told:
        area_from_layers(grid(), named_lots().drop(columns="lot_id"), bare, tree=bare.set_crs(UTM))
    text = str(told.value)
    assert "3 lots have no id" in text
    assert "The layer has no CRS (layer roofs)" in text
    assert "Unknown layer 'tree'" in text
    assert "'trees'" in text


@pytest.mark.parametrize("crs", [None, "EPSG:4326", "EPSG:2263"])
def test_the_elevation_must_be_in_metres(crs):
    with pytest.raises(BadInput, match="layer elevation"):
        area_from_layers(grid(crs), named_lots(), named_roofs())


def test_the_surface_must_lie_on_the_same_cells():
    other = Grid.from_array(plane(), Affine(1, 0, WEST + 0.5, 0, -1, NORTH), crs=CRS(UTM))
    with pytest.raises(BadInput, match="not on the cells"):
        area_from_layers(grid(), named_lots(), named_roofs(), surface=other)

"""Real parcels, buildings and streets from a registry package (momepy's sample district), in Web Mercator."""

import geopandas as gpd
import momepy
import numpy as np
import pytest
from affine import Affine
from pyproj import CRS, Geod
from shapely.geometry import box

from screening import Grid, area_from_layers
from screening.pipeline import screen
from screening.roofs.pieces import cut_by_lots

UTM = CRS.from_epsg(32633)


@pytest.fixture(scope="module")
def sample():
    path = momepy.datasets.get_path("bubenec")
    return {name: gpd.read_file(path, layer=name) for name in ("plots", "buildings", "streets")}


@pytest.fixture(scope="module")
def result(sample):
    west, south, east, north = sample["buildings"].to_crs(UTM).total_bounds
    rows, columns = int(north - south) + 80, int(east - west) + 80
    y, x = np.mgrid[0:rows, 0:columns]
    plane = (200 + 0.02 * x + 0.03 * (rows - y)).astype(np.float32)
    grid = Grid.from_array(plane, Affine(1, 0, west - 40, 0, -1, north + 40), crs=UTM)
    whole = sample["plots"].to_crs(UTM).within(gpd.GeoSeries.from_xy([0], [0]).set_crs(UTM).buffer(1e9).iloc[0])
    lots = sample["plots"][whole.to_numpy()].rename(columns={"ID": "lot_id"})[["lot_id", "geometry"]]
    lots["lot_id"] = lots["lot_id"].astype(str)
    inside = lots.to_crs(UTM).within(gpd.GeoSeries.from_wkt([_box(grid)]).set_crs(UTM).iloc[0])
    lots = lots[inside.to_numpy()]
    roofs = sample["buildings"].rename(columns={"uID": "roof_id"})
    roofs["roof_id"] = roofs["roof_id"].astype(str)
    streets = sample["streets"].assign(street="Sample street")
    return screen(area_from_layers(grid, lots, roofs, streets=streets)), lots, roofs


def _box(grid):
    west, south, east, north = grid.bounds_m
    return f"POLYGON(({west} {south},{east} {south},{east} {north},{west} {north},{west} {south}))"


def test_areas_are_those_on_the_ground_not_those_of_web_mercator(result):
    """Web Mercator areas here are about 2.4 times too large; geodesic areas by pyproj's Geod are the reference."""
    screening, lots, _ = result
    geod = Geod(ellps="WGS84")
    true = np.array([abs(geod.geometry_area_perimeter(shape)[0]) for shape in lots.to_crs(4326).geometry])
    order = np.argsort(lots["lot_id"].to_numpy())
    found = screening.lots["lot_area_m2"].to_numpy(dtype=float)
    assert found.sum() == pytest.approx(true.sum(), rel=1e-3)
    assert (np.abs(found - true[order]) < 0.1 + 1e-3 * true[order]).all()
    assert lots.area.sum() / true.sum() == pytest.approx(2.43, abs=0.01)


def test_every_parcel_has_a_verdict_and_roof_pieces_add_up(result):
    """What does not become a piece are slivers where buildings and parcels were digitized apart; each is told."""
    screening, lots, roofs = result
    assert len(screening.lots) == len(lots)
    assert screening.lots["verdict"].notna().all()
    joined = lots.to_crs(UTM).union_all()
    on_lots = roofs.to_crs(UTM).geometry.intersection(joined).area.sum()
    problems = screening.tables["problems"]
    slivers = problems[problems["problem"].str.contains("narrower than")]
    assert len(slivers) > 10
    pieces = screening.tables["roof_pieces"]["area_m2"].astype(float).sum()
    dropped = slivers["area_before_m2"].astype(float).sum()
    assert pieces < on_lots
    assert pieces + dropped == pytest.approx(on_lots, abs=0.02 * len(roofs))


def test_a_building_on_two_parcels_is_cut_between_them(sample):
    """A real building on two lots that part in its middle."""
    roofs = sample["buildings"].rename(columns={"uID": "roof_id"}).to_crs(UTM)
    west, south, east, north = roofs.total_bounds
    x = float(roofs.geometry.iloc[0].envelope.centroid.x)
    halves = gpd.GeoDataFrame(
        {"lot_id": ["east", "west"]}, geometry=[box(x, south, east, north), box(west, south, x, north)], crs=UTM
    )
    first = roofs.iloc[[0]][["roof_id", "geometry"]].astype({"roof_id": str})
    pieces, _ = cut_by_lots(first, halves)
    assert set(pieces["lot_id"]) == {"east", "west"}
    assert pieces["area_m2"].astype(float).sum() == pytest.approx(first.area.sum(), rel=1e-5)

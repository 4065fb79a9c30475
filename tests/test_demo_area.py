"""The demo area holds what a real neighbourhood holds, and its maker makes the same bytes again."""

from __future__ import annotations

import hashlib
import tomllib
from collections import Counter
from importlib import metadata
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import rasterio
import shapely
from scipy import ndimage

from screening.inputs.survey_export import read_survey_export
from screening.soils.components import derived_groups

ROOT = Path(__file__).parent.parent
AREA = ROOT / "demo_area"
SEED = 7
PINNED = ("geopandas", "numpy", "pyogrio", "pyproj", "rasterio", "scipy", "shapely")


def layer(file, name=None):
    return gpd.read_file(AREA / file, layer=name)


@pytest.fixture(scope="module")
def lots():
    return layer("lots.gpkg").set_index("parcel_id")


@pytest.fixture(scope="module")
def roofs(lots):
    return layer("roofs.geojson").to_crs(lots.crs)


@pytest.fixture(scope="module")
def heights():
    with rasterio.open(AREA / "elevation.tif") as source:
        return source.read(1, masked=True).filled(np.nan)


def pins():
    lines = (ROOT / "scripts" / "pins.txt").read_text(encoding="utf-8").splitlines()
    return dict(line.split("==") for line in lines if "==" in line)


@pytest.fixture(scope="module")
def made_again(tmp_path_factory):
    off = [name for name in PINNED if metadata.version(name) != pins()[name]]
    if off:
        pytest.skip(f"bytes are promised for the pinned versions only; not here: {', '.join(off)}")
    from scripts.demo_area_maker.files import write_area
    from scripts.demo_area_maker.neighbourhood import make_neighbourhood

    folder = tmp_path_factory.mktemp("made") / "demo_area"
    write_area(make_neighbourhood(SEED), folder)
    return folder


def digests(folder):
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return {str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


def test_the_maker_makes_the_committed_bytes(made_again):
    assert digests(made_again) == digests(AREA)


def test_it_stays_small():
    assert sum(path.stat().st_size for path in AREA.rglob("*") if path.is_file()) < 8e6


def test_every_layer_of_the_area_file_is_there():
    said = tomllib.loads((AREA / "area.toml").read_text(encoding="utf-8"))
    assert said.keys() >= {"elevation", "lots", "roofs", "soils", "paved", "trees", "buried", "wells", "septic"}
    assert said.keys() >= {"easements", "water", "inlets", "streets", "downspouts", "avoid", "rainfall", "field"}
    for name, table in said.items():
        if name in ("title", "elevation", "rainfall", "field", "soils"):
            continue
        frame = layer(table["file"], table.get("layer"))
        named = {value for key, value in table.items() if key not in ("file", "layer") and isinstance(value, str)}
        assert len(frame) > 0
        assert named <= set(frame.columns), name


def test_lots_and_streets(lots):
    streets = layer("ground.gpkg", "streets")
    assert len(lots) >= 250
    assert lots.index.is_unique
    assert lots["address"].is_unique
    assert streets["street"].nunique() == 13
    assert set(lots["street"]) <= set(streets["street"])
    assert lots["zone"].nunique() == 3
    assert lots["hoa"].sum() == 6
    area_m2 = lots[lots["land_use"] != "park"].area
    assert area_m2.min() < 350
    assert area_m2.max() > 2000


def test_lots_do_not_overlap(lots):
    shapes = lots.geometry.to_numpy()
    one, two = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    overlap = shapely.area(shapely.intersection(shapes[one], shapes[two]))[one < two]
    assert overlap.max() < 0.05


def test_some_lots_are_flags_with_a_pole(lots):
    # A pole is what an opening by 3 m cuts off: 5 m wide, more than 15 m long.
    poles = lots.area - lots.buffer(-3.0).buffer(3.2).intersection(lots.geometry).area
    assert (poles > 75).sum() == 4


def test_roofs_of_every_form(roofs):
    houses = roofs[roofs["kind"] == "house"]
    assert Counter(roofs["kind"]).keys() == {"house", "garage", "shed"}
    corners = Counter(len(shape.simplify(0.05).exterior.coords) - 1 for shape in houses.geometry)
    assert corners[4] > 50  # rectangles
    assert corners[6] > 50  # L
    assert corners[8] > 40  # T and U
    assert set(houses["basement"].dropna()) == {"yes", "no"}
    assert houses["basement"].isna().any()


def test_twins_share_a_roof_across_their_lot_line(lots, roofs):
    twins = lots[lots["land_use"] == "twin house"]
    houses = roofs[roofs["kind"] == "house"]
    pairs = 0
    for roof in houses.geometry:
        share = twins.geometry.intersection(roof).area / roof.area
        pairs += int((share > 0.3).sum() == 2)
    assert len(twins) == 2 * pairs
    assert pairs >= 8


def test_every_house_but_twins_stands_on_one_lot(lots, roofs):
    houses = roofs[roofs["kind"] == "house"]
    others = lots[lots["land_use"] != "twin house"].geometry.buffer(0.01)
    twins = lots[lots["land_use"] == "twin house"].geometry.union_all().buffer(0.01)
    alone = [bool(others.contains(roof).any()) or twins.contains(roof) for roof in houses.geometry]
    assert all(alone)


def test_heights_have_holes_noise_and_centimetres(heights):
    holes, count = ndimage.label(np.isnan(heights))
    assert count == 2  # a hole over back yards, a cut corner
    assert sorted(np.bincount(holes.ravel())[1:])[0] > 200
    valid = heights[~np.isnan(heights)]
    np.testing.assert_allclose(np.round(valid, 2), valid, atol=1e-5)
    rough = heights - ndimage.convolve(heights, np.full((3, 3), 1 / 9))  # convolve keeps NaN where it is
    assert 0.02 < np.nanmedian(np.abs(rough)) * 1.4826 < 0.04


def test_a_part_is_steeper_than_any_rule(heights):
    soft = ndimage.gaussian_filter(heights, 2.0)
    down, right = np.gradient(soft)
    slope_pct = 100 * np.hypot(down, right)
    assert np.nansum(slope_pct > 25) > 5000
    assert 2.0 < np.nanmedian(slope_pct) < 6.0
    assert np.nanmax(heights) - np.nanmin(heights) > 25


def test_houses_stand_above_the_ground_around_them(roofs, heights):
    with rasterio.open(AREA / "elevation.tif") as source:
        transform = source.transform
    rise = []
    for roof in roofs[roofs["kind"] == "house"].geometry.iloc[::5]:
        near = np.array([p.coords[0] for p in (roof.buffer(1.0).exterior.interpolate(d) for d in range(0, 40, 2))])
        far = np.array([p.coords[0] for p in (roof.buffer(3.0).exterior.interpolate(d) for d in range(0, 48, 2))])
        rise.append(mean_height(heights, transform, near) - mean_height(heights, transform, far))
    assert np.nanmedian(rise) > 0.05


def mean_height(heights, transform, points):
    rows, columns = rasterio.transform.rowcol(transform, points[:, 0], points[:, 1])
    return float(np.nanmean(heights[rows, columns]))


def test_inlets_stand_in_the_gutters():
    inlets, streets = layer("ground.gpkg", "inlets"), layer("ground.gpkg", "streets").geometry.union_all()
    assert len(inlets) >= 40
    assert inlets.distance(streets).between(3.0, 4.5).mean() > 0.95


def test_what_lies_under_the_ground():
    buried, easements = layer("underground.gpkg", "buried"), layer("underground.gpkg", "easements")
    kinds = Counter(buried["kind"])
    assert kinds["main"] == 4
    assert kinds["service"] > 60
    main_in_easement = buried[buried["kind"] == "main"].within(easements.union_all().buffer(0.01)).sum()
    assert main_in_easement == 2
    assert len(layer("underground.gpkg", "wells")) >= 4
    assert len(layer("underground.gpkg", "septic")) >= 6


def test_trees_known_by_trunk_or_by_crown():
    trees = layer("ground.gpkg", "trees")
    assert (trees["trunk_m"].notna() ^ trees["crown_m"].notna()).all()
    assert trees["trunk_m"].notna().sum() > 150
    assert trees["crown_m"].notna().sum() > 150


def test_some_downspouts_are_piped_to_the_street(roofs):
    spouts = layer("ground.gpkg", "downspouts")
    assert Counter(spouts["leads_to"]).keys() == {"pipe", "lawn", "drive"}
    assert (spouts["leads_to"] == "pipe").sum() > 40
    assert spouts.distance(roofs.union_all().boundary).max() < 0.01


@pytest.fixture(scope="module")
def survey():
    from screening.inputs.findings import Findings

    return read_survey_export([str(AREA / "soils")], ["soils"], Findings())


def test_soils_have_every_kind_of_group(survey):
    group = survey.tables["muaggatt"]["hydgrpdcd"]
    assert set(group.dropna()) - {""} == {"A", "B", "C", "D", "B/D", "C/D"}
    assert (group.isna() | (group == "")).sum() == 3  # urban land, its complex, water
    assert set(survey.polygons["mukey"]) == set(survey.tables["mapunit"]["mukey"])


def test_horizons_give_the_group_that_is_written(survey):
    # NEH part 630 chapter 7, table 7-1, through the package's own reading of it.
    component = survey.tables["component"].set_index("cokey")
    derived = derived_groups(survey.tables)
    written = component.loc[derived.index, "hydgrp"]
    assert len(derived) >= 15
    pd.testing.assert_series_equal(derived, written, check_names=False, check_dtype=False)


def test_soils_cover_every_lot_once(survey, lots):
    soils = survey.polygons.to_crs(lots.crs)
    covered = soils.union_all()
    assert lots.geometry.difference(covered).area.max() < 1.0
    assert soils.area.sum() - covered.area < 5.0


def test_ten_years_of_rain():
    rain = pd.read_csv(AREA / "rain.csv", parse_dates=["date"])
    assert rain["date"].diff().dropna().eq(pd.Timedelta(days=1)).all()
    years = rain.groupby(rain["date"].dt.year)["rain_mm"]
    assert len(years) == 10
    assert years.sum().between(600, 1500).all()
    assert years.count().min() >= 350
    assert rain["rain_mm"].isna().sum() > 0


def test_soil_tests_are_of_lots_that_exist(lots):
    field = pd.read_csv(AREA / "field.csv", dtype={"lot": str})
    tests = field[field["what"] == "test"].set_index("lot")
    assert len(tests) == 9
    places = gpd.GeoSeries(gpd.points_from_xy(tests["x"], tests["y"]), index=tests.index, crs=lots.crs)
    assert places.within(lots.geometry.loc[tests.index]).all()
    assert (tests["fill_2_h"] > tests["fill_1_h"]).all()
    assert tests["fill_2_h"].min() < 12
    assert 36 < tests["fill_2_h"].max() < 72  # one hole drains too slowly, on the clay


def test_another_seed_is_another_place():
    from scripts.demo_area_maker.plan import plan_lots

    one, two = plan_lots(SEED), plan_lots(SEED + 1)
    assert [lot.shape for lot in one] == [lot.shape for lot in plan_lots(SEED)]
    assert [lot.shape.wkb for lot in one] != [lot.shape.wkb for lot in two]

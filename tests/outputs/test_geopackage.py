from __future__ import annotations

import sqlite3
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import geopandas as gpd
import numpy as np
import pyogrio
import pytest
import shapely

from screening.fields import TABLES
from screening.outputs.geopackage import GEOMETRY_TYPES, OUTLINE_M, write_geopackage
from screening.outputs.suitability import suitability_breaks
from screening.result import Screening
from tests.outputs.made_up import make_screening


def test_every_table_is_a_layer_of_one_geometry_type(made_up: Screening, written: dict[str, Path]) -> None:
    layers = dict(pyogrio.list_layers(written["lots"]))
    assert set(layers) == {*made_up.tables, "layer_styles"}
    for name in made_up.tables:
        assert layers[name] == GEOMETRY_TYPES.get(name)
    for name in made_up.tables:
        info = pyogrio.read_info(written["lots"], layer=name)
        assert info["features"] == len(made_up.tables[name])
        assert list(info["fields"]) == [field.name for field in TABLES[name] if field.dtype != "geometry"]


def test_every_table_with_a_geometry_has_a_type() -> None:
    drawn = {name for name, fields in TABLES.items() if any(field.dtype == "geometry" for field in fields)}
    assert drawn == set(GEOMETRY_TYPES)


def test_values_and_missing_values_come_back(made_up: Screening, written: dict[str, Path]) -> None:
    lots = gpd.read_file(written["lots"], layer="lots")
    given = made_up.tables["lots"]
    assert lots["lot_id"].tolist() == given["lot_id"].tolist()
    assert lots["rank"].isna().tolist() == given["rank"].isna().tolist()
    assert lots["year_kept_m3"].isna().all()
    ranked = given["rank"].notna().to_numpy()
    assert (lots["score"][ranked].astype(int).to_numpy() == given["score"][ranked].to_numpy(dtype=np.int64)).all()
    assert lots.crs == made_up.output_crs
    assert np.allclose(lots.area, given.area)


def test_feet_come_back_as_feet(tmp_path: Path) -> None:
    feet = make_screening(1, 2, unit_m=0.3048)
    lots = gpd.read_file(write_geopackage(feet, tmp_path / "feet.gpkg"), layer="lots")
    metres = feet.tables["lots"].geometry
    assert np.allclose(lots.geometry.bounds * 0.3048, metres.bounds)


def test_equal_results_give_equal_content(made_up: Screening, written: dict[str, Path], tmp_path: Path) -> None:
    again = write_geopackage(made_up, tmp_path / "again.gpkg")

    def dump(path: Path) -> list[str]:
        with sqlite3.connect(path) as database:
            lines = list(database.iterdump())
        database.close()
        return lines

    assert dump(written["lots"]) == dump(again)


def test_styles_parse_and_name_columns_that_exist(made_up: Screening, written: dict[str, Path]) -> None:
    styles = pyogrio.read_dataframe(written["lots"], layer="layer_styles")
    assert set(styles["f_table_name"]) <= set(GEOMETRY_TYPES)
    for _, row in styles.iterrows():
        root = ElementTree.fromstring(row["styleQML"])
        columns = pyogrio.read_info(written["lots"], layer=row["f_table_name"])["fields"]
        for rule in root.iter("rule"):
            named = set(rule.get("filter", "").split('"')[1::2])
            assert named <= set(columns)
    lots = ElementTree.fromstring(styles.set_index("f_table_name").loc["lots", "styleQML"])
    filters = [rule.get("filter") for rule in lots.iter("rule")]
    breaks = suitability_breaks(made_up.tables["lots"]["score"])
    assert filters[0] == f'"score" >= 0 AND "score" < {breaks[0]}'
    assert len(filters) == 6


def test_problems_lie_at_points_whatever_was_wrong(tmp_path: Path) -> None:
    result = make_screening(1, 1)
    shapes = [shapely.box(0, 0, 2, 2), shapely.LineString([(0, 0), (4, 0)]), shapely.Point(1, 1), None]
    frame = gpd.GeoDataFrame(
        {"layer": ["roofs"] * 4, "feature": list("abcd"), "problem": ["x"] * 4, "done": ["kept"] * 4},
        geometry=shapes,
        crs=result.crs,
    )
    result.tables["problems"] = frame  # type: ignore[index]
    back = gpd.read_file(write_geopackage(result, tmp_path / "a.gpkg"), layer="problems")
    assert back.geometry.iloc[0].within(shapes[0])
    assert back.geometry.iloc[1].distance(shapes[1]) == pytest.approx(0)
    assert back.geometry.iloc[3] is None


def test_outlines_with_fewer_corners_stay_where_they_are(made_up: Screening, tmp_path: Path) -> None:
    turn = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    ellipse = shapely.Polygon(np.column_stack([100 + 2 * np.cos(turn), 50 + np.sin(turn)]))
    candidates = made_up.tables["candidates"].copy()
    candidates.geometry = [ellipse] * len(candidates)
    result = replace(made_up, tables={**made_up.tables, "candidates": candidates})
    back = gpd.read_file(write_geopackage(result, tmp_path / "a.gpkg"), layer="candidates").geometry.iloc[0]
    assert shapely.get_num_coordinates(back) == 25
    assert shapely.hausdorff_distance(back.boundary, ellipse.boundary, densify=0.1) <= OUTLINE_M


def test_pages_are_large_and_the_file_is_sound(written: dict[str, Path]) -> None:
    with sqlite3.connect(written["lots"]) as database:
        assert database.execute("PRAGMA page_size").fetchone() == (16384,)
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        dates = {row[0] for row in database.execute("SELECT last_change FROM gpkg_contents")}
        assert dates == {"2000-01-01T00:00:00.000Z"}
    database.close()

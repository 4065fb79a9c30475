import geopandas as gpd
import pandas as pd

from screening.outputs.geoparquet import write_geoparquet
from tests.outputs.made_up import make_screening


def test_every_table_comes_back_and_equal_runs_give_equal_bytes(made_up, tmp_path) -> None:
    first = write_geoparquet(made_up, tmp_path / "a")
    again = write_geoparquet(make_screening(), tmp_path / "b")
    assert set(first) == {f"geoparquet_{name}" for name in made_up.tables}
    for name, path in first.items():
        assert path.read_bytes() == again[name].read_bytes(), name
    lots = gpd.read_parquet(first["geoparquet_lots"])
    there = made_up.tables["lots"]
    assert lots.crs == made_up.output_crs
    assert lots["lot_id"].tolist() == there["lot_id"].tolist()
    assert lots["near_pass"].astype("boolean").tolist() == there["near_pass"].tolist()
    reasons = pd.read_parquet(first["geoparquet_reasons"])
    assert reasons["code"].tolist() == made_up.tables["reasons"]["code"].tolist()


def test_boxes_let_readers_take_a_part(made_up, tmp_path) -> None:
    path = write_geoparquet(made_up, tmp_path)["geoparquet_lots"]
    west, south, _, _ = made_up.tables["lots"].total_bounds
    some = gpd.read_parquet(path, bbox=(west, south, west + 5, south + 5))
    assert 0 < len(some) < len(made_up.tables["lots"])

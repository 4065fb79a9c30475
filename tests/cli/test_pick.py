import geopandas as gpd
import pytest
from click.testing import CliRunner
from shapely.geometry import box

from screening.cli import screening
from screening.fields import TABLES, conform
from screening.outputs import read_run
from screening.rules import Rules

LOTS = gpd.GeoDataFrame(
    {
        "lot_id": ["a", "b", "c"],
        "street": ["Elm", "Elm", "Oak"],
        "address": ["4 Elm", "2 Elm", None],
        "zone": ["North", "North", "South"],
        "rank": [1, 2, 3],
        "verdict": "approach",
        "chance_feasible": [0.9, 0.5, 0.5],
        "year_kept_m3": [10.0, 10.0, 6.0],
    },
    geometry=[box(n, 0, n + 1, 1) for n in range(3)],
)


@pytest.fixture
def picked(monkeypatch, tmp_path):
    candidates = gpd.GeoDataFrame(
        {
            "lot_id": ["a", "b", "c"],
            "chosen": True,
            "hsg": "C",
            "chance_c": 1.0,
            "ksat_um_s": 4 / 3.6,
            "ksat_source": "group",
        },
        geometry=LOTS.geometry,
    )
    tables = {"lots": conform(LOTS, TABLES["lots"]), "candidates": conform(candidates, TABLES["candidates"])}
    record = {"rules": Rules().model_dump(), "title": "Made up"}
    monkeypatch.setattr(read_run, "read_run", lambda folder, _only: read_run.RunFolder(folder, record, tables))
    return lambda *arguments: CliRunner().invoke(screening, ["pick", str(tmp_path), *arguments])


def test_the_list_is_printed_by_street_with_what_it_comes_to(picked):
    lines = picked("--visits", "2", "--soil-tests", "0").output.splitlines()
    assert lines[0] == "Elm"
    assert lines[1] == "  2 Elm (lot b), rank 2, chance 50%, 5.0 m³, approach"
    assert lines[2] == "  4 Elm (lot a), rank 1, chance 90%, 9.0 m³, approach"
    assert lines[3] == "2 lots, 14.0 m³ expected to be kept in a mean year; no pick keeps more"
    assert lines[4] == "For 2 visits approach about 14; about 1 garden built"
    assert lines[5] == "  North: 2 of the list (100%), 2 of all lots (67%)"


def test_floors_lots_in_and_out_and_soil_tests(picked):
    out = picked("--visits", "2", "--zone-floor", "South=1", "--out-of", "a").output
    assert "  lot c, rank 3" in out
    assert "(lot a), rank" not in out
    assert "Soil tests that would add most" in out


def test_a_floor_is_name_and_number(picked):
    result = picked("--zone-floor", "South")
    assert result.exit_code == 2
    assert "write NAME=NUMBER" in result.output

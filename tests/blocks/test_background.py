import json

from screening.blocks.run_record import run_record
from screening.blocks.whole_area import area_context
from screening.blocks.whole_result import WRITTEN_RASTERS, ground_of
from screening.inputs.reading import read_area
from screening.rules import Rules
from tests.inputs.made_up import write_area

TILES = '[background]\ntiles = "https://tiles.example.org/SECRET/{z}/{x}/{y}?key=SECRET"\ntiles_credit = "Made up"\n'


def found(folder, more):
    area = read_area(write_area(folder, more)).area
    context = area_context(area, Rules())
    tables = {"lots": area.layers["lots"].assign(verdict="approach"), "problems": area.problems}
    return ground_of(area, dict.fromkeys(WRITTEN_RASTERS.values()), context), run_record(area, context, tables)


def test_backgrounds_go_with_the_result_and_no_key_into_the_record(tmp_path):
    ground, record = found(tmp_path, TILES)
    assert ground.background.tiles.address.endswith("?key=SECRET")
    assert record["background"] == {"tiles": "https://tiles.example.org"}
    assert "SECRET" not in json.dumps(record)


def test_without_a_background_the_record_is_as_ever(tmp_path):
    ground, record = found(tmp_path, "")
    assert ground.background is None
    assert "background" not in record

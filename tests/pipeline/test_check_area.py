"""Faults that show only once the files are made sense of are told by a check too."""

from screening.pipeline import check_area
from tests.inputs.made_up import lots, write_area


def test_soils_without_a_single_group_stand_in_the_way(tmp_path):
    lots().assign(group=["loam", "loam", "E"]).to_file(tmp_path / "soils.gpkg")
    lines, faults = check_area(write_area(tmp_path, '[soils]\nfile = "soils.gpkg"\n'))
    assert lines[-1] == "1 fault stands in the way of a run."
    assert sum("in the way of a run" in line for line in lines) == 1
    assert faults[0].what.endswith("found: 'E' (1), 'loam' (2)")

from screening.area import LAYER_COLUMNS
from screening.inputs.findings import Findings
from screening.inputs.missing_layers import COSTS, tell_missing


def test_every_optional_layer_has_its_cost():
    assert set(COSTS) == set(LAYER_COLUMNS) - {"lots", "roofs"} | {"soils", "surface", "rainfall", "field"}


def test_only_what_is_missing_is_told():
    findings = Findings()
    tell_missing(set(COSTS) - {"trees", "surface"}, findings)
    assert [note.layer for note in findings.notes] == ["surface", "trees"]
    assert findings.notes[0].text.startswith("No surface raster given: ")

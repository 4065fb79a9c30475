import pytest
from shapely.geometry import Point

from screening.errors import BadInput
from screening.fields.summary_tables import PROBLEMS
from screening.inputs.findings import Findings


def test_problems_come_out_as_declared():
    findings = Findings()
    findings.problem("lots", "7", "overlaps lot 3", "kept", Point(1, 2), before_m2=1.234)
    findings.problem("roofs", "1", "no geometry", "dropped")
    table = findings.problem_table("EPSG:32606")
    assert list(table.columns) == [field.name for field in PROBLEMS]
    assert table["area_before_m2"].tolist()[0] == 1.23
    assert table["area_after_m2"].isna().all()
    assert table.geometry.isna().tolist() == [False, True]
    assert len(Findings().problem_table(None)) == 0


def test_sentences_end_with_one_full_stop():
    findings = Findings()
    findings.fault("It broke.", "The library says: no.")
    assert str(findings.faults[0]) == "It broke. The library says: no."


def test_faults_are_raised_once_each():
    findings = Findings()
    findings.raise_faults()
    findings.fault("Twice", "Mend it", layer="lots")
    findings.fault("Twice", "Mend it", layer="lots")
    with pytest.raises(BadInput) as told:
        findings.raise_faults()
    assert [fault.what for fault in told.value.faults] == ["Twice"]

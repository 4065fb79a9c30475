import numpy as np
import pandas as pd
import pytest

from screening import Rules
from screening.blocks.storm import storm_rules
from screening.errors import BadInput
from screening.inputs import StormWanted
from screening.units import INCH_MM
from tests.water.test_design_storm import DAYS_IN, TABLE


def record(days=2000, wet_in=DAYS_IN):
    depth = np.zeros(days)
    depth[: len(wet_in)] = np.array(wet_in) * INCH_MM
    return pd.DataFrame({"start": pd.date_range("2001-01-01", periods=days), "step_h": 24.0, "depth_mm": depth})


def test_the_rules_stand_where_nothing_is_asked_for():
    rules = Rules(storm_depth_mm=25.0)
    assert storm_rules(None, record(), rules) == (rules, ())


def test_a_percentile_of_the_record():
    """20 days with more than 0.1 inch; the 95th percentile of them is 2.05 in (computed)."""
    rules, notes = storm_rules(StormWanted(percentile=95.0), record(), Rules())
    assert rules.storm_depth_mm == 52.1
    assert rules.model_copy(update={"storm_depth_mm": 38.0}) == Rules()
    assert [note.kind for note in notes] == ["assumption", "caution"]
    assert "the 95th percentile of the record's 20 days with more than 0.1 inch in 5.5 years" in notes[0].text
    assert len(storm_rules(StormWanted(percentile=95.0), record(8000), Rules())[1]) == 1


def test_a_record_that_is_too_short_or_too_dry_is_refused():
    with pytest.raises(BadInput, match=r"4\.9 years of whole days"):
        storm_rules(StormWanted(percentile=95.0), record(1800), Rules())
    with pytest.raises(BadInput, match="no day of the record"):
        storm_rules(StormWanted(percentile=95.0), record(wet_in=[0.05]), Rules())
    with pytest.raises(BadInput, match="outside what the rules allow"):
        storm_rules(StormWanted(percentile=95.0), record(wet_in=[50.0]), Rules())


def test_a_depth_of_a_frequency_table(tmp_path):
    path = tmp_path / "table.csv"
    path.write_text(TABLE, encoding="utf-8")
    rules, notes = storm_rules(StormWanted(table=str(path), years=2), None, Rules())
    assert rules.storm_depth_mm == pytest.approx(4.76 * INCH_MM, abs=0.05)
    assert notes[0].text == "The storm is 120.9 mm: 24 h, once in 2 years by the frequency table."
    assert storm_rules(StormWanted(table=str(path), years=1, hours=1.0), None, Rules())[0].storm_depth_mm == 54.4
    with pytest.raises(BadInput, match="no depth for 24 h and 3 years"):
        storm_rules(StormWanted(table=str(path), years=3), None, Rules())
    path.write_text(TABLE.replace("4.76", "x", 1), encoding="utf-8")
    with pytest.raises(BadInput, match="this row has not 10 depths"):
        storm_rules(StormWanted(table=str(path), years=2), None, Rules())

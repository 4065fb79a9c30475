"""What a run prints when it is done."""

from __future__ import annotations

import pandas as pd

from screening.cli.report import ruled_out_by


def test_the_three_limits_that_rule_out_most_are_told_with_how_many() -> None:
    lots = pd.DataFrame(
        {
            "verdict": ["ruled out"] * 8 + ["look closer"] * 3,
            "deciding_limit": ["slope", "no_room", "fall", "no_room", "slope", "no_room", "overflow", None]
            + ["fall"] * 3,
        }
    )
    assert ruled_out_by(lots) == [("Room", 3), ("Slope", 2), ("Fall", 1)]
    assert ruled_out_by(lots.iloc[8:]) == []

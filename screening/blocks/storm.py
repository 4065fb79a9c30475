"""The storm that capture is told for: by the rules, by a percentile of the record, or by a frequency table."""

from __future__ import annotations

import pandas as pd

from screening.area import Note
from screening.errors import BadInput, Fault
from screening.inputs import StormWanted
from screening.rules import Rules
from screening.water.design_storm import LONG_YEARS, frequency_depth_mm, read_frequency_table, record_storm_mm

__all__ = ["storm_rules"]


def storm_rules(
    wanted: StormWanted | None, record: pd.DataFrame | None, rules: Rules
) -> tuple[Rules, tuple[Note, ...]]:
    """Rules with the depth of the storm that the area file asks for, and what it rests on.

    Parameters
    ----------
    wanted
        What the area file says of the storm; None leaves the rules as they are.
    record
        The rain record.
    rules
        The rules as given.

    Raises
    ------
    BadInput
        When the record is too short, or the table has no such depth.
    """
    if wanted is None:
        return rules, ()
    if wanted.percentile is not None:
        if record is None:
            return rules, ()
        depth, events, years = record_storm_mm(record, wanted.percentile)
        words = (
            f"The storm is {depth:.1f} mm, the {wanted.percentile:g}th percentile of the record's {events} days with "
            f"more than 0.1 inch in {years:.1f} years"
        )
        notes = [Note("assumption", f"{words}.", "rainfall")]
        if years < LONG_YEARS:
            notes.append(
                Note("caution", f"A percentile wants {LONG_YEARS} years and more; this one has fewer.", "rainfall")
            )
        return _with_depth(rules, depth), tuple(notes)
    table = read_frequency_table(wanted.table)
    try:
        depth = round(frequency_depth_mm(table, wanted.years, wanted.hours), 1)
    except ValueError as error:
        mend = "ask for years and hours that it has"
        raise BadInput([Fault(f"The frequency table has {error}", mend, layer="rainfall")]) from error
    words = f"The storm is {depth:.1f} mm: {wanted.hours:g} h, once in {wanted.years} years by the frequency table."
    return _with_depth(rules, depth), (Note("assumption", words, "rainfall"),)


def _with_depth(rules: Rules, depth_mm: float) -> Rules:
    """The rules with this storm, which must be one that they allow."""
    try:
        return Rules.model_validate({**rules.model_dump(), "storm_depth_mm": depth_mm})
    except ValueError as error:
        what = f"A storm of {depth_mm:g} mm is outside what the rules allow"
        raise BadInput([Fault(what, "check the unit", layer="rainfall")]) from error

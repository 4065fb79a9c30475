"""What each row of a field file must hold."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import pandas as pd

from screening.inputs.field_columns import FILLINGS
from screening.inputs.findings import Findings

__all__ = ["check_rows"]

NEEDED: Final[dict[str, tuple[str, ...]]] = {
    "test": ("hole_depth", "hole_width", "fill_1_h"),
    "level": ("at_house", "at_spot"),
    "consent": ("consent_of", "consent"),
    "ticket": ("ticket",),
    "status": ("status",),
    "built": ("ponding_area", "ponding_depth", "bed_depth", "area_treated"),
}
"""Columns that a row of each kind cannot do without."""

Tell = Callable[[str, str], None]


def check_rows(table: pd.DataFrame, file: str, findings: Findings) -> None:
    """Tell rows that lack what they need, or hold what cannot be; what was not understood is told already."""
    told = {(fault.feature, fault.what.split(" ")[0]) for fault in findings.faults if fault.file == file}
    for row in table.to_dict("records"):

        def tell(what: str, mend: str, number: Any = row["row"]) -> None:
            findings.fault(what, mend, file=file, layer="field", feature=f"row {number}")

        here = f"row {row['row']}"
        if _none(row["what"]) and (here, "what") not in told:
            tell("The row does not say what it is", "Fill the column what")
        if _none(row["date"]) and (here, "date") not in told:
            tell("No date", "Write it as 2026-05-31")
        for name in NEEDED.get(row["what"], ()):
            if _none(row[name]):
                tell(f"A {row['what']} row without {name}", "Fill it in, or take the row out")
        if _none(row["x"]) != _none(row["y"]):
            tell("One coordinate without the other", "Give x and y, or neither")
        if row["what"] == "test":
            _check_test(row, tell)
        if row["what"] == "built":
            _check_built(row, tell)


def _none(value: Any) -> bool:
    return value is None or bool(pd.isna(value))


def _check_test(row: dict[str, Any], tell: Tell) -> None:
    """A hole with its fillings."""
    depth, width = row["hole_depth"], row["hole_width"]
    for name, value, most in (("hole_depth", depth, 3.0), ("hole_width", width, 2.0)):
        if not _none(value) and not 0.03 <= value <= most:
            tell(f"{name} is {value:.2f} m", f"Check the units: between 0.03 and {most:g} m are believed")
    for number in range(1, FILLINGS + 1):
        hours, start, end = (row[f"fill_{number}_{part}"] for part in ("h", "start", "end"))
        if _none(hours):
            if not _none(start) or not _none(end):
                tell(f"Filling {number} has no hours", f"Fill in fill_{number}_h")
            if number < FILLINGS and not _none(row[f"fill_{number + 1}_h"]):
                tell(f"Filling {number + 1} stands without filling {number}", "Write fillings in their order")
            continue
        if hours <= 0:
            tell(f"Filling {number} took no time", "Write its hours")
        start = depth if _none(start) else start
        if not _none(depth) and start > depth + 1e-9:
            tell(f"Filling {number} starts above the rim of the hole", "Measure water from the hole's bottom")
        if start <= 0 or (not _none(end) and end >= start):
            tell(f"Filling {number} did not fall", "Write the water's depth at start and end, from the hole's bottom")


def _check_built(row: dict[str, Any], tell: Tell) -> None:
    """As-built figures that can be."""
    for name, least, most, unit in (
        ("ponding_area", 0.1, 1000.0, "m2"),
        ("ponding_depth", 0.01, 1.0, "m"),
        ("bed_depth", 0.0, 3.0, "m"),
        ("area_treated", 0.1, 20000.0, "m2"),
        ("native_share", 0.0, 1.0, ""),
    ):
        value = row[name]
        if not _none(value) and not least <= value <= most:
            tell(
                f"{name} is {value:g} {unit}".rstrip(), f"Check the units: between {least:g} and {most:g} are believed"
            )

"""What a table of the area file needs beyond each of its keys being well formed."""

from __future__ import annotations

from typing import Any

from screening.inputs.area_model import Rainfall, Soils, Table, Within
from screening.inputs.findings import Findings

__all__ = ["check_tables"]


def check_tables(tables: dict[str, Table | None], rules: Any, file: str, findings: Findings) -> None:
    """Check tables whose keys depend on each other; one that cannot be used is taken out.

    Parameters
    ----------
    tables
        Tables of the area file by name, None where one could not be understood; changed in place.
    rules
        The ``[rules]`` table as written.
    file, findings
        Name of the area file; where faults go.
    """
    _check_within(tables, file, findings)
    _check_soils(tables, file, findings)
    _check_rainfall(tables, rules, file, findings)


def _check_within(tables: dict[str, Table | None], file: str, findings: Findings) -> None:
    """``[within]`` needs a file or a box, and chooses among a file's features by a column and its values."""
    within = tables.get("within")
    if not isinstance(within, Within):
        return
    wrong: list[tuple[str, str]] = []
    if (within.file is None) == (within.box is None):
        said = "neither 'file' nor 'box'" if within.file is None else "both 'file' and 'box'"
        wrong.append((f"[within] has {said}", "Give one of the two"))
    if (within.column is None) != (within.values is None):
        wrong.append(("column and values of [within] go together", "Give both, or neither"))
    if within.box is not None:
        west, south, east, north = within.box
        if west >= east or south >= north:
            wrong.append(("box in [within] has no area", "Write west, south, east, north"))
    for what, mend in wrong:
        findings.fault(what, mend, file=file, layer="within")
    if wrong:
        tables["within"] = None


def _check_soils(tables: dict[str, Table | None], file: str, findings: Findings) -> None:
    """``[soils]`` needs polygons or an export."""
    soils = tables.get("soils")
    if isinstance(soils, Soils) and soils.file is None and soils.export is None:
        findings.fault(
            "[soils] has neither 'file' nor 'export'", "Add file = ... or export = ...", file=file, layer="soils"
        )
        tables["soils"] = None


def _check_rainfall(tables: dict[str, Table | None], rules: Any, file: str, findings: Findings) -> None:
    """``[rainfall]`` needs a record or a table, and says the storm once at most."""
    rain = tables.get("rainfall")
    if not isinstance(rain, Rainfall):
        return
    wrong: list[tuple[str, str]] = []
    if rain.file is None and rain.frequency is None:
        wrong.append(("[rainfall] has neither 'file' nor 'frequency'", "Add file = ... or frequency = ..."))
    if rain.storm_percentile is not None and rain.file is None:
        wrong.append(("storm_percentile needs a record", "Add file = ... with the record"))
    if (rain.frequency is None) != (rain.storm_years is None):
        wrong.append(("frequency and storm_years go together", "Give both, or neither"))
    said = [rain.storm_percentile is not None, rain.storm_years is not None]
    given = rules if isinstance(rules, dict) else {}
    said.append(any(key in given for key in ("storm_depth_mm", "storm_depth_in")))
    if sum(said) > 1:
        told = "storm_percentile, storm_years, storm_depth_mm in [rules]"
        wrong.append(("The depth of the storm is said more than once", f"Keep one of: {told}"))
    for what, mend in wrong:
        findings.fault(what, mend, file=file, layer="rainfall")

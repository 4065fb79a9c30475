"""What a table of the area file needs beyond each of its keys being well formed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from screening.inputs.area_model import BackgroundTable, Rainfall, Soils, Table, Within
from screening.inputs.findings import Findings

__all__ = ["check_tables"]


def check_tables(tables: dict[str, Table | None], data: Mapping[str, Any], file: str, findings: Findings) -> None:
    """Check tables whose keys depend on each other; one that cannot be used is taken out.

    Parameters
    ----------
    tables
        Tables of the area file by name, None where one could not be understood; changed in place.
    data
        The area file as written.
    file, findings
        Name of the area file; where faults go.
    """
    _check_within(tables, file, findings)
    _check_soils(tables, file, findings)
    _check_rainfall(tables, data.get("rules"), file, findings)
    _check_background(tables, data.get("background"), file, findings)


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


def _check_background(tables: dict[str, Table | None], written: Any, file: str, findings: Findings) -> None:
    """``[background]`` names something, each online service with its credit; what else is said belongs to one of them.

    Keys count as written, so that one that was told already as a fault is not told again as missing.
    """
    if not isinstance(tables.get("background"), BackgroundTable):
        return
    given = {key for key, value in written.items() if not (isinstance(value, str) and not value.strip())}
    if not given & {"photo", "tiles", "photo_tiles"}:
        what = "[background] has none of 'photo', 'tiles' and 'photo_tiles'"
        findings.fault(what, "Add one of them", file=file, layer="background")
    for key in ("tiles", "photo_tiles"):
        if key in given and f"{key}_credit" not in given:
            mend = f"Add {key}_credit = ... with the text that the service wants shown"
            findings.fault(f"{key} of [background] has no credit", mend, file=file, layer="background")
    for key in ("photo", "tiles", "photo_tiles"):
        extra = sorted(given & {f"{key}_crs", f"{key}_credit", f"{key}_deepest"})
        if extra and key not in given:
            what = f"[background] has {', '.join(extra)} without {key}"
            findings.fault(what, f"Add {key} = ..., or leave that out", file=file, layer="background")

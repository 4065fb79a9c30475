"""Outputs that people look at: map, sheets and lists. What draws them takes long to import.

Hence this is imported late, or ahead in a thread.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path

from screening.outputs.chart import write_street_chart
from screening.outputs.csv_files import write_csv_files
from screening.outputs.extras import Extras, sheets_wanted
from screening.outputs.geopackage import Problems
from screening.outputs.map import map_jobs, write_public_map
from screening.outputs.map.columns import Columns
from screening.outputs.map.contents import settled_columns
from screening.outputs.overview import write_overview
from screening.outputs.sheets import write_sheets
from screening.outputs.workbook import write_workbook
from screening.ranking.sentences import Units
from screening.result import Screening

__all__ = ["all_map_jobs", "settled_columns", "write_lists", "write_wanted_sheets"]


def all_map_jobs(
    result: Screening, folder: Path, units: Units, *, addresses: bool, public: bool, settled: Mapping[str, Columns]
) -> dict[str, Callable[[], Path]]:
    """What writes the map, with addresses or not, and where asked for the public one, which tells nothing of lots."""
    jobs = map_jobs(result, folder / "map.html", units, addresses=addresses, settled=settled)
    if public:
        jobs["map_public"] = partial(write_public_map, result, folder / "map_public.html", units)
    return jobs


def write_wanted_sheets(result: Screening, folder: Path, units: Units, extras: Extras) -> tuple[Path, Problems]:
    """The sheets, and what could not be written on them."""
    return write_sheets(result, folder / "sheets.pdf", sheets_wanted(result, extras), units)


def write_lists(result: Screening, folder: Path, units: Units) -> dict[str, Path]:
    """The lists as CSV and as a workbook, and the two pictures."""
    paths = write_csv_files(result, folder)
    paths["workbook"] = write_workbook(result, folder / "approach.xlsx", units)
    paths["chart"] = write_street_chart(result, folder / "streets.png", units)
    paths["overview"] = write_overview(result, folder / "overview.png", units)
    return paths

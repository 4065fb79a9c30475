"""All sheets in one PDF, in the order they are visited."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from screening.errors import BadInput, Fault
from screening.outputs.csv_files import approach_list
from screening.outputs.sheets.gather import gather
from screening.outputs.sheets.letters import covered
from screening.outputs.sheets.page import SheetPage
from screening.outputs.sheets.sheet import draw_sheet
from screening.ranking.sentences import Units
from screening.ranking.visit_list import visits_of
from screening.result import Screening

__all__ = ["sheet_lots", "write_sheets"]


def sheet_lots(result: Screening, first: int | None = None) -> list[str]:
    """Ids of the lots that get a sheet, in visit order: the first so many by rank, or the rules' first visits."""
    visits, lots = approach_list(result), result.tables["lots"]
    if first is not None:
        return [str(lot_id) for lot_id in visits.loc[visits["rank"] <= first, "lot_id"]]
    wanted = set(lots.loc[visits_of(lots, result.rules), "lot_id"])
    return [str(lot_id) for lot_id in visits["lot_id"] if lot_id in wanted]


def _check(result: Screening, lot_ids: Sequence[str]) -> None:
    known = set(result.tables["lots"]["lot_id"])
    unknown = [lot_id for lot_id in lot_ids if lot_id not in known]
    if unknown:
        raise BadInput(
            Fault(f"There is no lot {lot_id!r}", "Give ids as in the lots layer", layer="lots", feature=lot_id)
            for lot_id in unknown
        )


def write_sheets(
    result: Screening, path: Path, lot_ids: Sequence[str] | None = None, units: Units = "metric"
) -> tuple[Path, list[dict[str, str]]]:
    """Write a sheet for each lot.

    Parameters
    ----------
    result
        The result of a run.
    path
        Where to write.
    lot_ids
        Lots by id, in the order of the pages, any verdict; ``sheet_lots(result)`` when None.
    units
        Units, and the paper that goes with them.

    Returns
    -------
    pathlib.Path
        The document.
    list
        Problems, as rows of the problems table: names that the sheet's font cannot write.

    Raises
    ------
    BadInput
        When a lot is not there.
    """
    chosen = sheet_lots(result) if lot_ids is None else list(lot_ids)
    _check(result, chosen)
    problems: list[dict[str, str]] = []
    page = SheetPage(units, f"{result.title}: sheets")
    title = result.title if covered(result.title) else ""
    sheets, around = gather(result, chosen)
    for own in sheets:
        lot_id = str(own.lot.lot_id)
        name = own.lot.address or f"Lot {lot_id}"
        if not covered(name):
            problem = {"layer": "lots", "feature": lot_id, "problem": "letters that the sheet's font lacks"}
            problems.append({**problem, "done": "the lot's id stands on its sheet"})
            name = f"Lot {lot_id}"
        draw_sheet(page, result, own, around, name, title)
    if not chosen:
        page.new()
        page.one_line(11, 11, page.width, "No lot to visit.", 12)
    path.write_bytes(bytes(page.pdf.output()))
    return path, problems

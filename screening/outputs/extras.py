"""What a run writes beyond the usual, as whoever runs it asks."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from screening.errors import BadInput, Fault
from screening.result import Screening

__all__ = ["Extras", "check_lots", "sheets_wanted"]


@dataclass(frozen=True)
class Extras:
    """Parameters beyond the usual.

    Parameters
    ----------
    geoparquet
        Write every table as GeoParquet too, into the folder ``geoparquet``.
    database
        Schema of the database (named by the environment) that every table is written to as well.
    sheets_first
        Sheets for the first so many lots of the list; the rules' first visits when None.
    sheets_picked
        Sheets for the lots that the season's pick names instead.
    sheets_for
        Lots by id that get a sheet whatever their rank and verdict, after the others.
    """

    geoparquet: bool = False
    database: str | None = None
    sheets_first: int | None = None
    sheets_picked: bool = False
    sheets_for: tuple[str, ...] = ()


def check_lots(lot_ids: Iterable[str], wanted: Iterable[str]) -> None:
    """See that lots asked for are there.

    Raises
    ------
    BadInput
        Naming every lot that is not.
    """
    known = set(lot_ids)
    faults = [
        Fault(f"There is no lot {lot!r}", "Give ids as in the lots layer", layer="lots", feature=lot)
        for lot in wanted
        if lot not in known
    ]
    if faults:
        raise BadInput(faults)


def sheets_wanted(result: Screening, extras: Extras) -> list[str]:
    """Ids of the lots that get a sheet, in the order of the pages, each once.

    Without other wishes the first visits; lots named alone get theirs alone.
    """
    # imported where they are used: whoever only asks for a run need not wait for what draws and picks
    if extras.sheets_picked:
        from screening.ranking.season_pick import Asked, season_pick

        ids = [str(lot) for lot in season_pick(result.places, result.rules, Asked()).lots["lot_id"]]
    elif extras.sheets_for and extras.sheets_first is None:
        ids = []
    else:
        from screening.outputs.sheets import sheet_lots

        ids = sheet_lots(result, extras.sheets_first)
    return list(dict.fromkeys([*ids, *extras.sheets_for]))

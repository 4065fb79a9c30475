"""The whole way: from an area to its ranked lots, and from files to files.

The only module that knows every stage.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any, Final

import pandas as pd

from screening import outputs
from screening.area import Area, FieldFacts
from screening.blocks.all_blocks import all_blocks
from screening.blocks.area_terrain import area_catchments, area_terrain
from screening.blocks.storm import storm_rules
from screening.blocks.whole_area import area_context, complete_area
from screening.blocks.whole_result import ground_of, with_tables
from screening.clock import Clock
from screening.errors import BadInput, Fault
from screening.inputs import ReadArea, inspect_area
from screening.inputs import read_area as read_files
from screening.inputs.check import describe, in_the_way
from screening.lot_rules import OwnRules
from screening.outputs.database import refuse_full_schema
from screening.outputs.extras import Extras, check_lots
from screening.outputs.record import write_timings
from screening.places import one_lot_a_place, with_further_lots
from screening.progress import Progress, SilentProgress
from screening.ranking.chance_columns import with_chance_reasons, with_chances
from screening.ranking.chances import chances
from screening.ranking.changed_rules import with_verdicts
from screening.ranking.sentences import Units
from screening.result import Screening, Watcher
from screening.rules import Rules
from screening.season.built import season_table
from screening.season.reduce import with_basements
from screening.streets.curve_table import curve_table
from screening.streets.inlets import inlet_totals
from screening.streets.totals import street_totals

__all__ = ["check_area", "rank", "read_area", "run_area", "screen"]

STAGES: Final = ("reading", "terrain", "lots", "ranking", "writing")


def read_area(path: Path | str) -> ReadArea:
    """Read an area file and everything it names: ``.area`` and ``.rules`` are what ``screen`` takes.

    Raises
    ------
    BadInput
        With every fault found, each naming file, layer, feature and mend.
    """
    return _completed(read_files(path))


def _completed(read: ReadArea) -> ReadArea:
    """The area with its soils, rain and field results, its rules with the storm that it asks for."""
    area = complete_area(read)
    wanted = None if read.rain_file is None else read.rain_file.storm
    rules, told = storm_rules(wanted, area.rain, read.rules)
    return replace(read, area=replace(area, notes=(*area.notes, *told)), rules=rules)


def check_area(path: Path | str) -> tuple[list[str], tuple[Fault, ...]]:
    """Read an area and say what was found, without screening it.

    Returns
    -------
    list of str
        Lines of the report: what was read, then what its soils and rain come to.
    tuple of Fault
        Every fault, of soils, rain and field results too.
    """
    reading = inspect_area(path)
    lines = describe(reading)
    if reading.faults:
        return lines, reading.faults
    try:
        area = _completed(reading.result()).area
    except BadInput as error:
        return [*lines[:-1], in_the_way(len(error.faults))], error.faults
    told = [f"  {note.text}" for note in area_context(area, Rules()).notes if note not in reading.notes]
    head = ["Of soils, rain and field results:"] if told else []
    return [*lines[:-1], *head, *told, lines[-1]], ()


def screen(
    area: Area,
    rules: Rules | None = None,
    *,
    own_rules: OwnRules | None = None,
    lots_per_block: int | None = None,
    threads: int = 2,
    progress: Progress | None = None,
    clock: Clock | None = None,
    client: Any | None = None,
    watcher: Watcher | None = None,
) -> Screening:
    """Screen an area: every lot of it with its verdict, reasons, score and rank.

    Parameters
    ----------
    area
        The area, as ``read_area`` or ``area_from_layers`` makes it.
    rules, own_rules
        The programme's rules, the defaults when None; those of single lots that differ from them, by lot id.
    lots_per_block, threads
        Lots in a block at most, when None as many as suits the threads; threads. Neither changes the answer.
    progress, clock
        Told of each stage; adds up where the time goes.
    client
        A ``distributed.Client`` (see ``blocks.on_dask.dask_client``) whose workers take the blocks; None for threads.
    watcher
        Told of the result while it is made.

    Returns
    -------
    Screening
        Tables, rasters and the run record.
    """
    rules, progress, clock = rules or Rules(), progress or SilentProgress(), clock or Clock()
    progress.stage(STAGES[1], 2, len(STAGES))
    with clock.stage("terrain"):
        every_lot = area.layers["lots"]
        area, own_rules = one_lot_a_place(area, own_rules)
        area = with_basements(area)
        rasters = area_terrain(area, rules, threads=threads)
        context, catchments = area_context(area, rules, own_rules), area_catchments(area, rasters)
    ground = ground_of(area, rasters, context)
    if watcher is not None:
        watcher.ground_known(ground)
    progress.stage(STAGES[2], 3, len(STAGES))
    with clock.wall("lots"):
        how: dict[str, Any] = {"most_lots": lots_per_block, "threads": threads, "clock": clock, "client": client}
        joined = {**all_blocks(area, rasters, context, told=progress.step, **how), "catchments": catchments}
    del rasters  # only those that are written are needed any longer
    if watcher is not None:
        watcher.lots_known(replace(ground, tables=joined))
    progress.stage(STAGES[3], 4, len(STAGES))
    inlets = area.layers.get("inlets")
    tables = rank(joined, area.layers.get("streets"), rules, context.field, context.own_rules, inlets, clock)
    season = season_table(tables, context, inlets)
    if season is not None:
        tables["season"] = season
    tables["lots"] = with_further_lots(tables["lots"], every_lot)
    return with_tables(ground, area, context, tables)


def rank(
    tables: dict[str, Any],
    streets: Any | None,
    rules: Rules,
    field: FieldFacts | None = None,
    own_rules: OwnRules | None = None,
    inlets: Any | None = None,
    clock: Clock | None = None,
) -> dict[str, Any]:
    """Give the lots their verdicts, reasons, scores and ranks, and sum them up by street and by inlet."""
    clock = clock or Clock()
    lots = tables["lots"].copy()
    if field is not None:
        status = field.lots.set_index("lot_id")["contact_status"].reindex(lots["lot_id"])
        lots["contact_status"] = pd.array(status.to_numpy(dtype=object), dtype="str")
    with clock.stage("chances"):
        drawn = chances({**tables, "lots": lots}, rules, own_rules)
    with clock.stage("ranking"):
        lots = with_chances(lots, drawn)
        reasons = with_chance_reasons(tables["reasons"], lots["lot_id"], drawn.ground, rules)
        lots = with_verdicts(lots, reasons, rules)
        sums = {
            "streets": street_totals(lots, streets, rules),
            "curves": curve_table(lots, rules),
            "inlet_totals": inlet_totals(
                lots, tables["downspouts"], tables["candidates"], inlets, tables.get("catchments")
            ),
        }
        return {**tables, "lots": lots, "reasons": reasons, **sums}


def run_area(
    path: Path,
    out: Path,
    *,
    overwrite: bool = False,
    progress: Progress | None = None,
    units: Units = "metric",
    addresses: bool = True,
    public: bool = False,
    extras: Extras | None = None,
    threads: int = 2,
    client: Any | None = None,
) -> tuple[Screening, dict[str, Path]]:
    """Screen the area told by an area file and write every output.

    Parameters
    ----------
    path
        The area file.
    out
        Folder for the results.
    overwrite, progress
        Replace results of an earlier run; told of each stage.
    units, addresses
        Units that people read first, ``metric`` or ``us``; whether the outputs hold addresses.
    public
        Write ``map_public.html`` too: streets and totals, nothing of single lots.
    extras
        Sheets, GeoParquet, database.
    threads, client
        Threads for terrain, and blocks worked on at a time; a ``distributed.Client`` whose workers take the blocks.
        Neither changes the answer.

    Returns
    -------
    Screening
        The result.
    dict
        Paths of the outputs by name.

    Raises
    ------
    BadInput
        When the input cannot be used, or ``out`` holds results and ``overwrite`` is False.
    """
    progress, extras, clock = progress or SilentProgress(), extras or Extras(), Clock()
    _refuse_results(out, extras, overwrite=overwrite)
    progress.stage(STAGES[0], 1, len(STAGES))
    with clock.stage("reading"):
        read = read_area(path)
    if extras.sheets_for:
        check_lots(read.area.layers["lots"]["lot_id"], extras.sheets_for)
    how: dict[str, Any] = {"threads": threads, "progress": progress, "clock": clock, "client": client}
    with outputs.writer(out, clock, addresses=addresses) as writer:
        result = screen(read.area, read.rules, own_rules=read.own_rules, watcher=writer, **how)
        progress.stage(STAGES[4], 5, len(STAGES))
        with clock.stage("writing"):
            paths = writer.finish(result, units=units, public=public, extras=extras)
    paths["timings"] = write_timings(clock.figures(threads), out)
    return result, paths


def _refuse_results(out: Path, extras: Extras, *, overwrite: bool) -> None:
    """See that no results of an earlier run are in the way, in the folder or the database."""
    if (out / "run.json").exists() and not overwrite:
        raise BadInput(
            [Fault("The folder holds the results of an earlier run", "Give another, or --overwrite", file=str(out))]
        )
    if extras.database is not None:
        refuse_full_schema(extras.database, overwrite=overwrite)

"""``screening run``."""

from __future__ import annotations

from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from screening.cli.area_argument import AREA

if TYPE_CHECKING:
    from screening.ranking.sentences import Units

__all__ = ["run"]


@click.command(short_help="Screen an area; write the map and tables.")
@click.argument("area", type=AREA)
@click.option(
    "--out", "-o", required=True, type=click.Path(path_type=Path, file_okay=False), help="Folder for results."
)
@click.option("--overwrite", is_flag=True, help="Replace results of an earlier run in that folder.")
@click.option("--first", default=5, show_default=True, help="How many lots to print.")
@click.option(
    "--units", type=click.Choice(["metric", "us"]), default="metric", show_default=True, help="Units first read."
)
@click.option("--no-addresses", is_flag=True, help="Leave addresses out of every output.")
@click.option("--public-map", is_flag=True, help="Write map_public.html too: streets and totals, no single lots.")
@click.option("--sheets-first", type=click.IntRange(min=0), metavar="N", help="Sheets for the first N lots.")
@click.option("--sheets-picked", is_flag=True, help="Sheets for the lots that the season's pick names.")
@click.option("--sheet", "sheets_for", multiple=True, metavar="LOT", help="A sheet for this lot, whatever its verdict.")
@click.option("--geoparquet", is_flag=True, help="Write every table as GeoParquet too.")
@click.option("--database", metavar="SCHEMA", help="Write every table to this schema of the database PGHOST .. name.")
@click.option(
    "--dask", metavar="WHERE", help="Share the lots among Dask workers: a scheduler's address, or how many to start."
)
@click.option("--quiet", "-q", is_flag=True, help="No progress.")
def run(
    area: Path,
    out: Path,
    overwrite: bool,
    first: int,
    units: Units,
    no_addresses: bool,
    public_map: bool,
    dask: str | None,
    quiet: bool,
    **more: Any,
) -> None:
    """Screen the area told by AREA (a TOML file, or a folder that holds area.toml) and write the map and tables.

    Writes the map (map.html), the lists (approach.csv, approach.xlsx, ruled_out.csv, streets.csv, inlets.csv,
    curves.csv), one sheet a lot (sheets.pdf), pictures (overview.png, streets.png), every table (lots.gpkg), rasters
    (terrain/*.tif) and records (columns.csv, run.json, timings.json). Prints the first lots and where the map is.
    Sheets are for the first visits unless --sheets-first, --sheets-picked or --sheet say otherwise.
    """
    from screening.blocks.on_dask import dask_client
    from screening.cli.report import print_result
    from screening.outputs.extras import Extras
    from screening.pipeline import run_area
    from screening.progress import progress_for

    with progress_for(quiet=quiet) as progress, dask_client(dask) if dask else nullcontext() as client:
        result, paths = run_area(
            area,
            out,
            overwrite=overwrite,
            progress=progress,
            units=units,
            addresses=not no_addresses,
            public=public_map,
            extras=Extras(**more),
            client=client,
        )
    print_result(result, paths, first)

"""``screening check``."""

from __future__ import annotations

from pathlib import Path

import click

from screening.cli.area_argument import AREA

__all__ = ["check"]


@click.command(short_help="Read all inputs and say what was found.")
@click.argument("area", type=AREA)
def check(area: Path) -> None:
    """Read everything that AREA (a TOML file, or a folder that holds area.toml) names and say what was found.

    Prints the coordinate system, units, counts, repairs and overlaps, what is missing and what that costs, then every
    fault at once. Exit code 3 when there is a fault.
    """
    from screening.pipeline import check_area

    report, faults = check_area(area)
    for line in report:
        click.echo(line)
    if faults:
        from screening.errors import BadInput

        raise BadInput(faults)

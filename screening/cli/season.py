"""``screening field``, ``compare``, ``lot`` and ``report``: the season's commands."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Literal

import click

from screening.cli.area_argument import AREA

__all__ = ["compare", "field", "lot", "report"]

_RUN = click.Path(path_type=Path, file_okay=False)


@click.command(short_help="Check field results, or print their template.")
@click.argument("area", required=False, type=AREA)
@click.option("--template", is_flag=True, help="Print a field file without rows, every column explained.")
def field(area: Path | None, template: bool) -> None:
    """Read the field results that AREA names, and say what they tell of each lot.

    AREA is a TOML file, or a folder that holds area.toml.

    With --template, print an empty field file: redirect it to field.csv, fill it in, and name it in the area file under
    [field].
    """
    if template:
        from screening.inputs.field_columns import field_template

        click.echo(field_template(), nl=False)
        return
    if area is None:
        raise click.UsageError("Name an area file, or ask for the --template.")
    from screening.pipeline import read_area
    from screening.season.reduce import reduce_field
    from screening.season.status import season_lines

    read = read_area(area)
    facts = reduce_field(read.area, read.rules)
    if facts is None:
        click.echo('The area file names no field results: add [field] file = "field.csv".')
        return
    for line in season_lines(facts.lots):
        click.echo(line)


@click.command(short_help="Say what changed between two runs, and why.")
@click.argument("run_a", type=_RUN)
@click.argument("run_b", type=_RUN)
@click.option("--csv", "csv_path", type=click.Path(path_type=Path, dir_okay=False), help="Write every change as CSV.")
def compare(run_a: Path, run_b: Path, csv_path: Path | None) -> None:
    """Say what changed from RUN_A to RUN_B (folders that runs wrote into): in sum, lot by lot, and why."""
    from screening.outputs.csv_files import csv_text
    from screening.outputs.read_run import read_run
    from screening.outputs.write import write_text
    from screening.season.compare import changed_lots, compare_words

    a, b = read_run(run_a), read_run(run_b)
    for line in compare_words(a.tables, b.tables, (a.record, b.record)):
        click.echo(line)
    if csv_path is not None:
        write_text(csv_path, csv_text(changed_lots(a.tables, b.tables, (a.record, b.record))))
        click.echo(f"Every change: {csv_path}", err=True)


@click.command(short_help="Say everything about one lot.")
@click.argument("run", type=_RUN)
@click.argument("lot_id")
@click.option("--units", type=click.Choice(["metric", "us"]), default="metric", show_default=True)
def lot(run: Path, lot_id: str, units: Literal["metric", "us"]) -> None:
    """Say everything that RUN found about the lot LOT_ID, whatever its rank, and what else could help the household."""
    from screening.outputs.lot_words import lot_words
    from screening.outputs.read_run import read_run

    for line in lot_words(read_run(run).tables, lot_id, units):
        click.echo(line)


@click.command(short_help="Write the season's report.")
@click.argument("run", type=_RUN)
@click.option("--on", "day", type=click.DateTime(["%Y-%m-%d"]), help="Day of the report; else the last field result's.")
@click.option("--out", "-o", type=_RUN, help="Folder for the files; else the run's own.")
def report(run: Path, day: object, out: Path | None) -> None:
    """Write the season's report of RUN: season_report.md, one page, and built_gardens.csv for the permit authority."""
    from datetime import datetime

    from screening.errors import BadInput, Fault
    from screening.outputs.csv_files import csv_text
    from screening.outputs.read_run import read_run
    from screening.outputs.write import write_text, written_aside
    from screening.season.report import last_day, permit_table, report_lines

    found = read_run(run)
    season = found.tables.get("season")
    if season is None or not len(season):
        raise BadInput([Fault("This run had no field results", "Name them in the area file under [field]", str(run))])
    on: date | None = day.date() if isinstance(day, datetime) else last_day(season)
    if on is None:
        raise BadInput([Fault("No field result has a date to report on", "Give one with --on")])
    if day is None:
        click.echo(f"No --on given: reporting as of the last field result, {on.isoformat()}.", err=True)
    lines = report_lines(found.title, found.tables, on, found.rules.storm_depth_mm)
    folder = out or run
    with written_aside(folder) as aside:
        write_text(aside / "season_report.md", "\n".join(lines) + "\n")
        write_text(aside / "built_gardens.csv", csv_text(permit_table(season, on)))
    for line in lines:
        click.echo(line)
    click.echo(f"Written: {folder / 'season_report.md'}, {folder / 'built_gardens.csv'}", err=True)

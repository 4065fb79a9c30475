"""``screening demo``."""

from __future__ import annotations

from pathlib import Path

import click

__all__ = ["demo"]


@click.command(short_help="Screen the made-up demo area.")
@click.option(
    "--out",
    "-o",
    default=Path("demo_results"),
    show_default=True,
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for results; replaced.",
)
@click.option("--quiet", "-q", is_flag=True, help="No progress.")
def demo(out: Path, quiet: bool) -> None:
    """Screen the demo area, a made-up neighbourhood that comes with the package."""
    from screening.cli.report import print_result
    from screening.demo_data import demo_area_path
    from screening.pipeline import run_area
    from screening.progress import progress_for

    with progress_for(quiet=quiet) as progress:
        result, paths = run_area(demo_area_path(), out, overwrite=True, progress=progress)
    print_result(result, paths, 5)

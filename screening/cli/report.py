"""What a run prints when it is done."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import click

from screening.ranking.verdict import VERDICTS
from screening.result import Screening
from screening.units import shown_score

__all__ = ["print_result"]


def print_result(result: Screening, paths: Mapping[str, Path], first: int) -> None:
    """Print the verdict counts, the first lots and the paths of the results."""
    lots = result.lots
    click.echo(f"{result.title}: {len(lots)} lots")
    for verdict in reversed(list(VERDICTS.values())):
        click.echo(f"  {verdict:<16}{int((lots['verdict'] == verdict).sum()):>7}")
    ranked = result.first(first)
    if len(ranked):
        click.echo(f"First {len(ranked)} to approach:")
    for row in ranked.itertuples():
        where = row.address if isinstance(row.address, str) and row.address else row.lot_id
        click.echo(f"  {row.rank:>3}. {where} (lot {row.lot_id}), score {shown_score(row.score)}, {row.verdict}")
    click.echo("Results:")
    for name, path in paths.items():
        click.echo(f"  {name:<20}{path}")
    click.echo(f"Map: {paths['map'].resolve()}")

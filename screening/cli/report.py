"""What a run prints when it is done."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from screening.fields import REASONS
from screening.ranking.verdict import VERDICTS
from screening.result import Screening
from screening.units import shown_score

__all__ = ["print_result", "ruled_out_by"]


def ruled_out_by(lots: Any) -> list[tuple[str, int]]:
    """The three limits that rule out most lots, and how many: one that takes nearly all of them is often wrong."""
    codes = lots.loc[lots["verdict"] == VERDICTS["rules out"], "deciding_limit"].dropna()
    counts = sorted(codes.value_counts().items(), key=lambda found: (-found[1], found[0]))
    return [(REASONS[code].head, int(count)) for code, count in counts[:3]]


def print_result(result: Screening, paths: Mapping[str, Path], first: int) -> None:
    """Print the verdict counts, the first lots and the paths of the results."""
    lots, all_lots = result.places, len(result.lots)
    places = "" if len(lots) == all_lots else f" on {len(lots)} places; counted below are places"
    click.echo(f"{result.title}: {all_lots} {'lot' if all_lots == 1 else 'lots'}{places}")
    for verdict in reversed(list(VERDICTS.values())):
        click.echo(f"  {verdict:<16}{int((lots['verdict'] == verdict).sum()):>7}")
    limits = ruled_out_by(lots)
    if limits:
        rest = int((lots["verdict"] == VERDICTS["rules out"]).sum()) - sum(count for _, count in limits)
        told = [*limits, *([("other limits", rest)] if rest else [])]
        click.echo(f"  Ruled out by: {', '.join(f'{head.lower()} {count}' for head, count in told)}")
    ranked = result.first(first)
    if len(ranked):
        click.echo(f"First {len(ranked)} to approach:")
    for row in ranked.itertuples():
        lot = f"lot {row.lot_id}"
        where = f"{row.address} ({lot})" if isinstance(row.address, str) and row.address else lot
        click.echo(f"  {row.rank:>3}. {where}, score {shown_score(row.score)}, {row.verdict}")
    click.echo("Results:")
    for name, path in paths.items():
        click.echo(f"  {name:<20}{path}")
    click.echo(f"Map: {paths['map'].resolve()}")

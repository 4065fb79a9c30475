"""``screening pick``."""

from __future__ import annotations

from collections.abc import Sequence
from numbers import Integral
from pathlib import Path
from typing import Any, Final

import click

__all__ = ["pick"]

_TOLD_L: Final = 50
"""What a soil test must add to be named: less would read as nothing [l]."""


def _floors(_context: click.Context, _option: click.Parameter, values: Sequence[str]) -> dict[str, int]:
    """``NAME=NUMBER``, each."""
    floors = {}
    for value in values:
        name, sign, number = value.rpartition("=")
        if not sign or not name or not number.isdigit():
            raise click.BadParameter(f"{value}: write NAME=NUMBER")
        floors[name] = int(number)
    return floors


@click.command(short_help="Pick the lots to visit this season.")
@click.argument("run_dir", type=click.Path(path_type=Path, file_okay=False))
@click.option("--visits", "-n", type=click.IntRange(min=0), help="Lots to visit. [default: the rules' visits]")
@click.option("--budget", type=click.FloatRange(min=0), help="Money for the season, with --cost.")
@click.option("--cost", type=click.FloatRange(min=0, min_open=True), help="What one garden costs.")
@click.option("--street-cap", type=click.IntRange(min=0), help="Most lots of one street.")
@click.option("--zone-cap", type=click.IntRange(min=0), help="Most lots of one zone.")
@click.option("--zone-floor", multiple=True, metavar="ZONE=N", callback=_floors, help="Least lots of a zone.")
@click.option("--street-floor", multiple=True, metavar="STREET=N", callback=_floors, help="Least lots of a street.")
@click.option("--in", "inside", multiple=True, metavar="LOT", help="A lot that must be in.")
@click.option("--out-of", "outside", multiple=True, metavar="LOT", help="A lot that must not be in.")
@click.option("--soil-tests", default=5, show_default=True, type=click.IntRange(min=0), help="Soil tests to name.")
def pick(run_dir: Path, soil_tests: int, **asked: Any) -> None:
    """Pick the lots to visit for the most water kept out of the drain.

    RUN_DIR is the folder that a run wrote into. The list is for visits; it prints how many households to approach for
    them, too.
    """
    from screening.outputs.read_run import read_run
    from screening.ranking.season_pick import Asked, season_pick
    from screening.ranking.soil_test_gain import soil_test_gains

    run = read_run(run_dir, {"lots": None, "candidates": "chosen = 1"})
    wanted = Asked(
        visits=asked["visits"],
        budget=asked["budget"],
        cost=asked["cost"],
        street_cap=asked["street_cap"],
        zone_cap=asked["zone_cap"],
        zone_floors=asked["zone_floor"],
        street_floors=asked["street_floor"],
        inside=asked["inside"],
        outside=asked["outside"],
    )
    found = season_pick(run.places, run.rules, wanted)
    _print(found, run)
    gains = soil_test_gains(run.places, run.tables["candidates"], run.rules, len(found.lots), run.own_rules)
    gains = gains[gains["gain_l"] >= _TOLD_L].head(soil_tests)
    if len(gains):
        click.echo("Soil tests that would add most, on average, to the water of such a list:")
    for row in gains.itertuples():
        chance = f"chance {100 * row.chance_soil:.0f}% that its soil serves"
        click.echo(f"  {_named(row)}, {chance}, {row.gain_l / 1000:.1f} m³ more")


def _named(row: Any) -> str:
    """Address and id of a lot, or its id alone."""
    return f"{row.address} (lot {row.lot_id})" if isinstance(row.address, str) and row.address else f"lot {row.lot_id}"


def _print(found: Any, run: Any) -> None:
    """The list in visit order, then what it comes to."""
    from screening.ranking.season_pick import funnel, shares_by_zone

    street = None
    for row in found.lots.itertuples():
        if row.street != street:
            street = row.street
            click.echo(street if isinstance(street, str) else "(street unknown)")
        rank = f"rank {row.rank}" if isinstance(row.rank, Integral) else "not ranked"
        chance = "unknown" if not isinstance(row.chance_feasible, float) else f"{100 * row.chance_feasible:.0f}%"
        click.echo(f"  {_named(row)}, {rank}, chance {chance}, {row.value_l / 1000:.1f} m³, {row.verdict}")
    water = "a mean year" if found.by == "year" else "the storm"
    proof = "no pick keeps more" if found.pick.proven else f"at most {100 * found.pick.gap:.1f}% more is possible"
    lots = f"{len(found.lots)} {'lot' if len(found.lots) == 1 else 'lots'}"
    click.echo(f"{lots}, {found.pick.value / 1000:.1f} m³ expected to be kept in {water}; {proof}")
    season = funnel(run.rules, visits=len(found.lots))
    visits = f"{season.answered} {'visit' if season.answered == 1 else 'visits'}"
    built = f"{season.built} {'garden' if season.built == 1 else 'gardens'} built"
    click.echo(f"For {visits} approach about {season.approached}; about {built}")
    for zone in shares_by_zone(found.lots, run.places).itertuples():
        click.echo(
            f"  {zone.zone}: {zone.picked} of the list ({100 * zone.picked_share:.0f}%), "
            f"{zone.lots} of all lots ({100 * zone.lots_share:.0f}%)"
        )

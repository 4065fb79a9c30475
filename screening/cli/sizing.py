"""``screening sizing``."""

from __future__ import annotations

from pathlib import Path

import click

__all__ = ["sizing"]


@click.command(short_help="Print how large a garden a roof needs, as tables.")
@click.argument("rules_file", required=False, type=click.Path(path_type=Path, dir_okay=False))
def sizing(rules_file: Path | None) -> None:
    """Print tables of ponding area by draining area and bed depth, and the other way, for the rules.

    RULES_FILE is a rules file, as `screening rules` prints it; the defaults hold without one.
    """
    from screening.inputs.rules_file import read_rules
    from screening.rules import Rules
    from screening.water.sizing_page import sizing_page

    click.echo(sizing_page(read_rules(rules_file) if rules_file else Rules()), nl=False)

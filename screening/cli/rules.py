"""``screening rules``."""

from __future__ import annotations

from pathlib import Path

import click

__all__ = ["rules"]


@click.command(short_help="Print the rules as a file.")
@click.argument("rules_file", required=False, type=click.Path(path_type=Path, dir_okay=False))
def rules(rules_file: Path | None) -> None:
    """Print every rule with its value, unit, range and basis, as a rules file.

    Without RULES_FILE the values are the defaults; with it, that file's. Redirect the output to a file, change what the
    programme or local code asks for, and name it in the area file: [rules] file = "rules.toml".
    """
    from screening.inputs.rules_file import read_rules, rules_toml
    from screening.rules import Rules

    click.echo(rules_toml(read_rules(rules_file) if rules_file else Rules()), nl=False)

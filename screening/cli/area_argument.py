"""The argument AREA: an area file, or the folder that it lies in."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from screening.errors import BadInput, Fault

__all__ = ["AREA", "NAME"]

NAME = "area.toml"
"""What the area file of a folder is called."""


class _AreaPath(click.Path):
    """A path; a folder stands for the area file in it."""

    name = "area"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Path:
        """The area file's path; a folder without one is told."""
        given: Any = super().convert(value, param, ctx)
        path = Path(given)
        if not path.is_dir():
            return path
        if not (path / NAME).is_file():
            mend = f"Name the area file itself, or call it {NAME}"
            raise BadInput([Fault(f"The folder holds no {NAME}", mend, file=str(path))])
        return path / NAME


AREA = _AreaPath(path_type=Path)

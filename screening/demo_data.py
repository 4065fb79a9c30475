"""Where the demo area lies: beside the package in a checkout, in the environment's shared data when installed."""

from __future__ import annotations

from importlib import metadata
from pathlib import Path

from screening.errors import BadInput, Fault

__all__ = ["demo_area_path"]

DISTRIBUTION = "rain-garden-screening"
AREA_FILE = ("demo_area", "area.toml")


def demo_area_path() -> Path:
    """Path of the demo area's area file.

    Returns
    -------
    Path
        Of an existing file.

    Raises
    ------
    BadInput
        When neither a checkout nor the installed package has it.
    """
    beside = Path(__file__).resolve().parents[1].joinpath(*AREA_FILE)
    if beside.is_file():
        return beside
    try:
        files = metadata.files(DISTRIBUTION) or []
    except metadata.PackageNotFoundError:
        files = []
    for file in files:
        if file.parts[-2:] == AREA_FILE and Path(str(file.locate())).is_file():
            return Path(str(file.locate())).resolve()
    raise BadInput(
        [Fault("The demo area is not here", "Install the package again, or run in a checkout", file=str(beside))]
    )

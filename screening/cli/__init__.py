"""The command line: it parses, calls the library and prints; it holds no science.

Exit codes: 0 done; 1 failed; 2 usage; 3 bad input; 130 interrupted.
"""

from __future__ import annotations

import atexit
import ctypes
import gc
import os
import sys
import warnings
from collections.abc import Sequence

import click

from screening import __version__
from screening.cli.check import check
from screening.cli.demo import demo
from screening.cli.pick import pick
from screening.cli.rules import rules
from screening.cli.run import run
from screening.cli.season import compare, field, lot, report
from screening.cli.sizing import sizing
from screening.errors import BadInput, ScreeningError

__all__ = ["main", "screening"]

EXIT_FAILED, EXIT_BAD_INPUT, EXIT_INTERRUPTED = 1, 3, 130
COLLECT_AFTER = (200_000, 20, 10)
"""Objects made, and collections of the younger, before Python looks for rings among objects that nothing uses.

A run makes few rings and keeps a million objects, and every search walks over them all: with Python's own
700, 10, 10 a tenth of a run's time went there, with 20,000 a sixtieth, and its peak of memory was no lower.
"""

KEPT_BY_MALLOC = ((-1, 2**31 - 1), (-2, 2**26), (-3, 2**25))
"""Of glibc's ``mallopt``: bytes free at the top before they go back; got at a time; from which a block is its own."""


def keep_freed_memory() -> bool:
    """Let glibc keep memory that was freed, which the next array needs again; whether it was understood.

    By its own rules it gives every large array back and gets zeroed pages for the next: a twentieth of a run.
    """
    try:
        mallopt = ctypes.CDLL(None).mallopt
    except (AttributeError, OSError, TypeError):  # another C library
        return False
    return all(mallopt(what, size) == 1 for what, size in KEPT_BY_MALLOC)


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="screening")
def screening() -> None:
    """Screen a neighbourhood for rain gardens.

    From elevation, lots, roofs and soils to a ranked map: whom to approach, which lots are ruled out and why, and how
    much runoff a street could capture. A desk screening, not a design: have buried utilities located before any
    digging; local code, easements and licensed practitioners decide.

    \b
    Start with      screening demo
    then            screening check AREA.toml
    and             screening run AREA.toml --out DIR

    Results go to standard output, everything else to standard error.
    Exit codes: 0 done, 1 failed, 2 usage, 3 bad input, 130 interrupted.
    """  # noqa: D301  # the backslash is the line-keeping mark of click


screening.add_command(run)
screening.add_command(check)
screening.add_command(rules)
screening.add_command(sizing)
screening.add_command(demo)
screening.add_command(pick)
screening.add_command(field)
screening.add_command(compare)
screening.add_command(lot)
screening.add_command(report)


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line and exit with its code."""
    gc.set_threshold(*COLLECT_AFTER)
    # what is left at the end goes with the process; searching it for rings took a second
    atexit.register(gc.freeze)
    keep_freed_memory()
    # numpy's own threads would wait busily for the cores that the threads of a run already use
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # a library of folium's mutes this itself, to no avail where another thread sets filters meanwhile
    warnings.filterwarnings("ignore", "SOCKS support in urllib3")
    try:
        code = screening.main(args=arguments, prog_name="screening", standalone_mode=False)
    except click.exceptions.Abort:
        click.echo("Interrupted; nothing half-written is left.", err=True)
        code = EXIT_INTERRUPTED
    except click.ClickException as error:
        error.show()
        code = error.exit_code
    except BadInput as error:
        for fault in error.faults:
            click.echo(f"error: {fault}", err=True)
        code = EXIT_BAD_INPUT
    except ScreeningError as error:
        click.echo(f"error: {error}", err=True)
        code = EXIT_FAILED
    sys.exit(code if isinstance(code, int) else 0)

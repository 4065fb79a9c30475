"""Layers of a GeoPackage, written by a process of their own.

GDAL's binding keeps Python's lock while it writes a layer. In another process it keeps nothing waiting.

The process runs this file by itself, so it imports nothing of the package. On its standard input it gets
layer after layer, each a line of JSON, the keywords of ``pyogrio.write_arrow``, and a stream of Arrow.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, Final

import pyarrow as pa

__all__ = ["WriteLayer", "layers_here", "layers_in_a_process"]

WriteLayer = Callable[[pa.RecordBatchReader, dict[str, Any]], None]
"""Writes a layer: its rows, and the keywords of ``pyogrio.write_arrow``."""

_PIPE: Final = 2**20
"""Bytes that the pipe holds, where the system lets it hold more than its own few."""

_OPTIONS: Final = {
    "OGR_CURRENT_DATE": "2000-01-01T00:00:00.000Z",
    "OGR_SQLITE_PRAGMA": "page_size=16384",
    "OGR_SQLITE_SYNCHRONOUS": "OFF",
}
"""A date in place of the clock's, so that equal runs give equal content; pages that rows of a few hundred bytes fill
well; and no waiting for the disk after every layer, as the file gets its name only when it is whole."""


@contextmanager
def layers_here(path: Path) -> Iterator[WriteLayer]:
    """What writes layers to a file, in this process."""
    with _options():
        # read as a whole, since GDAL has but one word for all that can go wrong with the reading
        yield lambda rows, how: _write(rows.read_all(), path, how)


@contextmanager
def _options() -> Iterator[None]:
    """Let GDAL write as ``_OPTIONS`` say."""
    import pyogrio

    pyogrio.set_gdal_config_options(_OPTIONS)
    try:
        yield
    finally:
        pyogrio.set_gdal_config_options(dict.fromkeys(_OPTIONS))


def _write(rows: pa.Table | pa.RecordBatchReader, path: Path, how: dict[str, Any]) -> None:
    import pyogrio

    pyogrio.write_arrow(rows, path, driver="GPKG", **how)


@contextmanager
def layers_in_a_process(path: Path) -> Iterator[WriteLayer]:
    """What writes layers to a file, in a process of its own; the file is whole once the context is left.

    Raises
    ------
    StageFailed
        When the process could not write, with what it said last.
    """
    with tempfile.TemporaryFile() as said:
        command = [sys.executable, "-P", __file__, str(path)]
        with subprocess.Popen(command, stdin=subprocess.PIPE, stderr=said, pipesize=_PIPE) as process:
            to = process.stdin
            assert to is not None

            def send(rows: pa.RecordBatchReader, how: dict[str, Any]) -> None:
                to.write(json.dumps(how).encode() + b"\n")
                with pa.ipc.new_stream(to, rows.schema) as stream:
                    for batch in rows:
                        stream.write_batch(batch)

            try:
                yield send
                to.close()
            except BrokenPipeError:
                pass  # what ended the process is told below
            except BaseException:
                process.kill()
                raise
            finally:
                with suppress(BrokenPipeError):  # nobody reads what is left
                    to.close()
        if process.returncode:
            said.seek(0)
            lines = said.read().decode(errors="replace").strip().splitlines()
            from screening.errors import StageFailed  # the process itself knows no package

            raise StageFailed(
                f"writing: {path.name} could not be written: {lines[-1] if lines else 'its process ended'}"
            )


def _main(path: Path) -> None:
    """Write what comes in."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # an interrupted run ends the process itself
    with os.fdopen(0, "rb", buffering=_PIPE) as source, _options():
        while how := source.readline():
            _write(pa.ipc.open_stream(source), path, json.loads(how))


if __name__ == "__main__":
    _main(Path(sys.argv[1]))

"""Write aside, then rename: nothing half-written is ever left under a final name."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

__all__ = ["write_text", "written_aside"]


@contextmanager
def written_aside(out_dir: Path) -> Iterator[Path]:
    """Give a folder to write into; on success its files move to ``out_dir``, on failure nothing does.

    Parameters
    ----------
    out_dir
        Where the files belong; made when it is not there.

    Yields
    ------
    pathlib.Path
        A new empty folder inside ``out_dir``, hence on the same disk, so that each move is one rename.
    """
    out_dir.mkdir(parents=True, exist_ok=True)
    aside = Path(tempfile.mkdtemp(prefix=".writing-", dir=out_dir))
    try:
        yield aside
        for path in sorted(found for found in aside.rglob("*") if found.is_file()):
            final = out_dir / path.relative_to(aside)
            final.parent.mkdir(parents=True, exist_ok=True)
            os.replace(path, final)
    finally:
        shutil.rmtree(aside, ignore_errors=True)


def write_text(path: Path, text: str) -> Path:
    """Write text as UTF-8 with LF line ends, whatever the system's own are."""
    path.write_bytes(text.encode("utf-8"))
    return path

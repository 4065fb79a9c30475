"""Write aside, then rename: nothing half-written is ever left under a final name."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterable, Iterator, Set
from contextlib import contextmanager
from pathlib import Path

__all__ = ["write_text", "written_aside"]


@contextmanager
def written_aside(out_dir: Path, earlier: Iterable[str] = ()) -> Iterator[Path]:
    """Give a folder to write into; on success its files move to ``out_dir``, on failure nothing does.

    Parameters
    ----------
    out_dir
        Where the files belong; made when it is not there.
    earlier
        Patterns of files in ``out_dir`` that only an earlier run of the same kind has written: on success those not
        written anew are removed, and the folders that they leave empty.

    Yields
    ------
    pathlib.Path
        A new empty folder inside ``out_dir``, hence on the same disk, so that each move is one rename.
    """
    out_dir.mkdir(parents=True, exist_ok=True)
    aside = Path(tempfile.mkdtemp(prefix=".writing-", dir=out_dir))
    try:
        yield aside
        written = [path.relative_to(aside) for path in sorted(aside.rglob("*")) if path.is_file()]
        for path in written:
            final = out_dir / path
            final.parent.mkdir(parents=True, exist_ok=True)
            os.replace(aside / path, final)
        _remove_all_but({out_dir / path for path in written}, out_dir, earlier)
    finally:
        shutil.rmtree(aside, ignore_errors=True)


def _remove_all_but(kept: Set[Path], folder: Path, patterns: Iterable[str]) -> None:
    """Remove the files of a folder that match, other than those kept, and folders in it that this leaves empty."""
    for old in sorted({path for pattern in patterns for path in folder.glob(pattern) if path.is_file()} - kept):
        old.unlink()
        if old.parent != folder and not any(old.parent.iterdir()):
            old.parent.rmdir()


def write_text(path: Path, text: str) -> Path:
    """Write text as UTF-8 with LF line ends, whatever the system's own are."""
    path.write_bytes(text.encode("utf-8"))
    return path

"""Compiled kernels on disk, each under a fingerprint of all that its code comes from.

A kernel is compiled from its own file and from the files of the kernels that it calls, so the fingerprint covers its
file and every file of this package that it imports, directly or by others: after a change all that calls what has
changed compiles anew, and nothing else. It covers also the versions, the processor, the options and the types of the
arguments. What is kept thus never has to be checked for age, is never overwritten by something else, and may be shared
by several processes and several copies of the package.

Kept files are those of ``NUMBA_CACHE_DIR`` where it is set, else of the package's own ``__pycache__``, else of the
user's cache folder; where none can be written, kernels compile in each process and one notice says so. Files that no
process has used for a fortnight are removed when a kernel is kept anew.
"""

from __future__ import annotations

import hashlib
import os
import pickle
import re
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import llvmlite
import numba
from numba.core.caching import _Cache
from numba.core.compiler import CompileResult
from numba.core.runtime import rtsys
from numba.core.serialize import dumps
from numba.misc.appdirs import AppDirs

__all__ = ["KeptKernel", "kept_folder", "sources"]

PACKAGE = Path(__file__).parents[1]
UNUSED_S = 14 * 24 * 3600.0
_IMPORT = re.compile(rb"^(?:from|import) +screening\.([\w.]+)", re.MULTILINE)


@cache
def _text(path: Path) -> bytes:
    return path.read_bytes()


@cache
def sources(path: Path) -> tuple[Path, ...]:
    """A file and all files of this package that it imports, directly or by others, in order."""
    found: set[Path] = set()
    waiting = [path]
    while waiting:
        one = waiting.pop()
        if one in found:
            continue
        found.add(one)
        for module in _IMPORT.findall(_text(one)):
            stem = PACKAGE.joinpath(*module.decode().split("."))
            waiting += [file for file in (stem.with_suffix(".py"), stem / "__init__.py") if file.is_file()]
    return tuple(sorted(found))


@cache
def fingerprint(path: Path) -> str:
    """Of all that goes into the kernels of a file, but for their options and types."""
    whole = hashlib.sha256(f"{sys.version}|{numba.__version__}|{llvmlite.__version__}".encode())
    for one in sources(path):
        name = one.relative_to(PACKAGE).as_posix() if one.is_relative_to(PACKAGE) else one.as_posix()
        whole.update(name.encode() + b"\0" + _text(one) + b"\0")
    return whole.hexdigest()


def _can_write(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        tempfile.TemporaryFile(dir=folder).close()
    except OSError:
        return False
    return True


@cache
def _first_writable(given: str) -> Path | None:
    users = AppDirs(appname="numba", appauthor=False).user_cache_dir
    folders = [Path(given)] if given else [PACKAGE / "__pycache__", Path(users)]
    for folder in folders:
        if _can_write(folder / "screening-kernels"):
            return folder / "screening-kernels"
    warnings.warn(
        "No folder for compiled code can be written, so kernels compile anew in each process; "
        "set NUMBA_CACHE_DIR to a folder that can be written.",
        stacklevel=2,
    )
    return None


def kept_folder() -> Path | None:
    """Where compiled kernels are kept; None where no folder can be written, which the first call says."""
    return _first_writable(numba.config.CACHE_DIR)


@cache
def _remove_unused(folder: Path) -> None:
    """Remove files that no process has used for long, once a process."""
    before = time.time() - UNUSED_S
    for path in folder.glob("*.kernel*"):
        try:
            if path.stat().st_mtime < before:
                path.unlink()
        except OSError:
            continue  # another process was faster, or it is not ours


class KeptKernel(_Cache):
    """What is kept of one kernel, in the form that numba's dispatcher asks for."""

    def __init__(self, function: Callable[..., Any], options: dict[str, Any]) -> None:
        self._path = Path(function.__code__.co_filename)
        self._name = f"{function.__module__.removeprefix('screening.')}.{function.__qualname__}"
        self._what = f"{self._name}|{function.__code__.co_firstlineno}|{sorted(options.items())}"
        self._closed = function.__closure__ is not None or not self._path.is_file()

    @property
    def cache_path(self) -> str | None:
        """The folder."""
        folder = kept_folder()
        return None if folder is None else str(folder)

    def file_of(self, signature: Any, codegen: Any) -> Path | None:
        """The file of one signature; None where none is kept."""
        folder = None if self._closed else kept_folder()
        if folder is None:
            return None
        what = f"{fingerprint(self._path)}|{self._what}|{signature}|{codegen.magic_tuple()}"
        return folder / f"{self._name}.{hashlib.sha256(what.encode()).hexdigest()[:24]}.kernel"

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """What is kept for a signature, or None."""
        # what numba asks for here, target_context.refresh(), brings in all that it can compile as well: a tenth of a
        # second that machine code does without
        rtsys.initialize(target_context)
        path = self.file_of(sig, target_context.codegen())
        if path is None:
            return None
        try:
            signature, parts = pickle.loads(path.read_bytes())
            os.utime(path)
        except (OSError, EOFError, pickle.UnpicklingError):
            return None
        return CompileResult._rebuild(target_context, *parts) if signature == sig else None

    def save_overload(self, sig: Any, data: Any) -> None:
        """Keep what was compiled for a signature: written aside, then renamed."""
        path = self.file_of(sig, data.codegen)
        if path is None or data.library.has_dynamic_globals or data.lifted:
            return
        aside = path.with_name(f"{path.name}.{os.getpid()}.{time.monotonic_ns()}")
        try:
            told = data._replace(type_annotation="")  # numba's listing of the source with its types, read by nobody
            aside.write_bytes(dumps((sig, told._reduce())))
            aside.replace(path)
        except OSError as reason:
            aside.unlink(missing_ok=True)
            warnings.warn(f"Compiled kernel not kept, so it compiles again next time: {reason}", stacklevel=2)
        _remove_unused(path.parent)

    def enable(self) -> None:
        """Always on."""

    def disable(self) -> None:
        """Always on."""

    def flush(self) -> None:
        """Nothing waits to be written."""

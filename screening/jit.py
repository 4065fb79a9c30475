"""The one way this package compiles: ``@compiled`` on a function of flat arrays and scalars.

Only files in folders named ``kernels`` use it. Kernels release the interpreter lock and never start threads
of their own (threads belong to the callers, so that Dask's do not collide with ours), never use fast-math
(NaN, infinities and the order of additions matter here), and are cached on disk. Where neither the package's
folder nor the user's cache folder can be written, they compile uncached and one notice says so.
``kernel.py_func`` is the plain Python function, which the tests run beside the compiled one.

The cache of numba looks at a kernel's own file alone, not at those of the kernels it calls. So the folder of the
cache bears a fingerprint of all kernels: after any change of any of them, all compile anew, and nothing stale is read.
"""

from __future__ import annotations

import hashlib
import warnings
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, TypeVar, cast

import numba

__all__ = ["cache_folder", "compiled"]

F = TypeVar("F", bound=Callable[..., Any])

_PACKAGE = Path(__file__).parent
_told_uncached = False


@cache
def cache_folder() -> str:
    """Where compiled kernels are kept: in the user's NUMBA_CACHE_DIR, or else in the package's own folder."""
    fingerprint = hashlib.sha256()
    for path in sorted(_PACKAGE.glob("**/kernels/*.py")):
        fingerprint.update(path.relative_to(_PACKAGE).as_posix().encode() + b"\0" + path.read_bytes())
    root = Path(numba.config.CACHE_DIR) if numba.config.CACHE_DIR else _PACKAGE / "__pycache__"
    return str(root / f"kernels-{fingerprint.hexdigest()[:16]}")


def compiled(function: F) -> F:
    """Compile a kernel: no Python objects, lock released, cached, exact arithmetic."""
    global _told_uncached  # one notice a process, whatever the number of kernels
    folder, given = cache_folder(), numba.config.CACHE_DIR
    numba.config.CACHE_DIR = folder
    try:
        return cast("F", numba.njit(nogil=True, cache=True, fastmath=False)(function))
    except RuntimeError:
        if not _told_uncached:
            _told_uncached = True
            warnings.warn(
                "No folder for compiled code can be written, so kernels compile anew in each process; "
                "set NUMBA_CACHE_DIR to a folder that can be written.",
                stacklevel=2,
            )
        return cast("F", numba.njit(nogil=True, fastmath=False)(function))
    finally:
        numba.config.CACHE_DIR = given

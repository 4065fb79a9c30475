"""The one way this package compiles: ``@compiled`` on a function of flat arrays and scalars.

Only files in folders named ``kernels`` use it. Kernels release the interpreter lock and never start threads
of their own (threads belong to the callers, so that Dask's do not collide with ours), never use fast-math
(NaN, infinities and the order of additions matter here), and are cached on disk. Where neither the package's
folder nor the user's cache folder can be written, they compile uncached and one notice says so.
``kernel.py_func`` is the plain Python function, which the tests run beside the compiled one.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba

__all__ = ["compiled"]

F = TypeVar("F", bound=Callable[..., Any])

_told_uncached = False


def compiled(function: F) -> F:
    """Compile a kernel: no Python objects, lock released, cached, exact arithmetic."""
    global _told_uncached  # one notice a process, whatever the number of kernels
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

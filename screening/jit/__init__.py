"""The one way this package compiles: ``@compiled`` on a function of flat arrays and scalars.

Only files in folders named ``kernels`` use it. Kernels release the interpreter lock and never start threads
of their own (threads belong to the callers, so that Dask's do not collide with ours), never use fast-math
(NaN, infinities and the order of additions matter here), and are kept on disk (``kept.py``).
``kernel.py_func`` is the plain Python function, which the tests run beside the compiled one.

The first run on a machine waits for the compiler, so kernels are compiled as sparingly as can be:

- A kernel that another kernel calls is not compiled by itself but within its caller (``linked.py``); only what Python
  calls is made callable from Python.
- No references are counted inside a kernel, since arrays belong to the caller. A kernel that makes arrays of its own,
  or calls one that does and hands them over, says ``@compiled(allocates=True)``.
- Stages of the compiler that no kernel needs are left out, and the signature of an operation on plain types is looked
  up once (``linked.py``).
- Python's collector of garbage rests while the compiler works: it would search much and free little.
"""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, TypeVar, cast, overload

import numba
from numba.core.registry import CPUDispatcher

from screening.jit.kept import KeptKernel
from screening.jit.linked import KernelCompiler, LinkedCompiler, quick_flags, signatures_remembered

__all__ = ["Kernel", "compiled"]

F = TypeVar("F", bound=Callable[..., Any])


@contextmanager
def _garbage_left() -> Iterator[None]:
    if not gc.isenabled():
        yield
        return
    gc.disable()
    try:
        yield
    finally:
        gc.enable()


class Kernel(CPUDispatcher):
    """A compiled function as Python calls it; what other kernels call is its ``linked`` twin."""

    def __init__(self, py_func: Callable[..., Any], locals: Any = None, targetoptions: Any = None) -> None:
        options = {**targetoptions, "no_cfunc_wrapper": True}
        super().__init__(py_func, locals, options, pipeline_class=KernelCompiler)
        bare = {**options, "no_cpython_wrapper": True}
        self.linked = CPUDispatcher(py_func, locals, bare, pipeline_class=LinkedCompiler)
        for one in (self, self.linked):
            quick_flags(one)
        self._cache = KeptKernel(py_func, targetoptions)

    def get_call_template(self, args: Any, kws: Any) -> Any:
        """What the compiler asks for where another kernel calls this one."""
        return self.linked.get_call_template(args, kws)

    def get_overload(self, sig: Any) -> Any:
        """What the compiler links where another kernel calls this one."""
        return self.linked.get_overload(sig)

    def compile(self, sig: Any) -> Any:
        """Compile one signature, or fetch it from where it is kept."""
        with _garbage_left(), signatures_remembered():
            return super().compile(sig)


@overload
def compiled(function: F, /) -> F: ...
@overload
def compiled(*, allocates: bool) -> Callable[[F], F]: ...
def compiled(function: F | None = None, /, *, allocates: bool = False) -> F | Callable[[F], F]:
    """Compile a kernel: no Python objects, lock released, kept on disk, exact arithmetic."""
    if function is None:
        return lambda given: _kernel(given, allocates)
    return _kernel(function, allocates)


def _kernel(function: F, allocates: bool) -> F:
    if numba.config.DISABLE_JIT:
        return function
    options = {"nopython": True, "nogil": True, "fastmath": False, "_nrt": allocates}
    return cast("F", Kernel(function, None, options))

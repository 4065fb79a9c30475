"""How numba compiles a kernel here: one that other kernels call goes to them unoptimised and is optimised there.

numba would optimise each function by itself and make machine code of it, then hand it to every caller, which optimises
all of it once more and makes machine code once more, at every storey of calls. Here a function that is called goes over
as it was lowered, and everything is optimised and made machine code of once, in the kernel that Python calls.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, Final, cast

import llvmlite.binding
from numba.core import errors, types
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import Compiler, Flags
from numba.core.compiler_lock import global_compiler_lock
from numba.core.compiler_machinery import register_pass
from numba.core.typed_passes import InlineOverloads, NativeLowering, NopythonRewrites
from numba.core.types.containers import BaseTuple
from numba.core.untyped_passes import (
    InlineClosureLikes,
    InlineInlinables,
    LiteralUnroll,
    MakeFunctionToJitFunction,
    WithLifting,
)

__all__ = ["KernelCompiler", "LinkedCompiler", "quick_flags", "signatures_remembered"]


_PLAIN: Final = (types.Number, types.Boolean, types.Array, BaseTuple, types.Record)
"""Types whose operations never change meaning once they have one."""


@contextmanager
def signatures_remembered() -> Iterator[None]:
    """Let numba remember the signature of an operation on plain types.

    It would look it up anew wherever the operation stands in a kernel, once for its type and once or more for its code,
    among dozens of rules each time.
    """
    with global_compiler_lock:
        usual = types.Function.get_call_type
        types.Function.get_call_type = _remembering(usual)  # type: ignore[method-assign]
        try:
            yield
        finally:
            types.Function.get_call_type = usual  # type: ignore[method-assign]


_SIGNATURES: Final[dict[Any, Any]] = {}


def _remembering(usual: Callable[..., Any]) -> Callable[..., Any]:
    def get_call_type(function: Any, context: Any, args: Any, kws: Any) -> Any:
        if kws or not all(isinstance(one, _PLAIN) for one in args):
            return usual(function, context, args, kws)
        asked = id(function), tuple(args)
        if asked not in _SIGNATURES:
            found = usual(function, context, args, kws)
            if found is None:
                return None
            _SIGNATURES[asked] = found, function  # held, so that its id stays its own
        return _SIGNATURES[asked][0]

    return get_call_type


class _QuickFlags(Flags):
    """numba's flags, compared by what was set: numba looks them up a hundred thousand times, option by option."""

    _ALIKE = hash(Flags())

    def __eq__(self, other: object) -> bool:
        """Whether the same was set, which is never so where numba's own comparison says no."""
        if isinstance(other, _QuickFlags):
            return self is other or bool(self._values == other._values)
        return bool(super().__eq__(other))

    def __hash__(self) -> int:
        """The one hash that numba gives to all flags."""
        return self._ALIKE


def quick_flags(dispatcher: Any) -> None:
    """Let a dispatcher's functions be compiled under flags that are quick to compare."""
    dispatcher._compiler._customize_flags = _QuickFlags


class _NoEnvironment:
    """numba's code generator without a place for the environment of a function that has no machine code."""

    def __init__(self, codegen: Any) -> None:
        self._codegen = codegen

    def __getattr__(self, name: str) -> Any:
        return getattr(self._codegen, name)

    def set_env(self, name: str, environment: Any) -> None:
        """Leave it: kernels run without the interpreter."""


class LinkedLibrary(JITCodeLibrary):
    """Code that is linked into the library of each caller and optimised there, never by itself."""

    @property
    def codegen(self) -> Any:
        """The code generator, without a place for the environment."""
        return _NoEnvironment(self._codegen)

    def _optimize_functions(self, ll_module: Any) -> None:
        ll_module.data_layout = self._codegen._data_layout

    def _optimize_final_module(self) -> None:
        pass

    def _finalize_final_module(self) -> None:
        self._finalize_dynamic_globals()
        self._finalized = True

    def get_pointer_to_function(self, name: str) -> int:  # noqa: ARG002
        """No address: there is no machine code."""
        self._ensure_finalized()
        return 0


_FOR_PYTHON: Final = "_ZN7cpython"
"""Names of functions that Python calls begin so."""


class KernelLibrary(JITCodeLibrary):
    """Code that is optimised once, whole, with all that it calls.

    numba does so in three goes: each function by itself, then all together lightly, so that counts of references meet
    and cancel, then in full. Where nothing is counted the last one does the work of all.
    """

    counts_references = True

    def serialize_using_object_code(self) -> Any:
        """What is kept: machine code, and of all that numba would link into other code the names that Python calls."""
        self._ensure_finalized()
        names = (one.name for one in self._final_module.functions if one.name.startswith(_FOR_PYTHON))
        empty = "\n".join(f'define void @"{name}"() {{ ret void }}' for name in names)
        return self.name, "object", (self._get_compiled_object(), llvmlite.binding.parse_assembly(empty).as_bitcode())

    def _optimize_functions(self, ll_module: Any) -> None:
        if self.counts_references:
            super()._optimize_functions(ll_module)
        else:
            ll_module.data_layout = self._codegen._data_layout

    def _optimize_final_module(self) -> None:
        if self.counts_references:
            super()._optimize_final_module()
        else:
            # nothing else is linked to this code, so what is called in one place alone may go there whole
            for function in self._final_module.functions:
                if not function.is_declaration and not function.name.startswith(_FOR_PYTHON):
                    function.linkage = "internal"
            # level 3 takes a tenth longer and makes no kernel here faster
            passes, builder = self._codegen._module_pass_manager(opt=2)
            passes.run(self._final_module, builder)


def _refuse_arrays(state: Any) -> None:
    """Without counted references an array given back would be freed under its holder, or never."""
    models = state.targetctx.data_model_manager
    given = [("gives back", state.return_type)]
    for call, signature in state.calltypes.items():
        if getattr(call, "op", "") == "call" and isinstance(state.typemap[call.func.name], types.Dispatcher):
            given.append(("is given", signature.return_type))
    for verb, one in given:
        if models[one].contains_nrt_meminfo():
            raise errors.NumbaTypeError(
                f"kernel {state.func_id.func_name} {verb} an array ({one}): declare it @compiled(allocates=True)"
            )


@register_pass(mutates_CFG=True, analysis_only=False)
class KernelLowering(NativeLowering):
    """numba's lowering, for a kernel that Python calls."""

    _name = "kernel_lowering"
    library: type[JITCodeLibrary] = KernelLibrary

    def run_pass(self, state: Any) -> bool:
        """Lower one function into a library of its kind."""
        if not state.flags.nrt:
            _refuse_arrays(state)
        state.library = self.library(state.targetctx.codegen(), state.func_id.func_qualname)
        state.library.counts_references = state.flags.nrt
        state.library.enable_object_caching()
        return cast("bool", super().run_pass(state))


@register_pass(mutates_CFG=True, analysis_only=False)
class LinkedLowering(KernelLowering):
    """Lower into a ``LinkedLibrary``, for a kernel that other kernels call."""

    _name = "linked_lowering"
    library = LinkedLibrary


_UNUSED: Final = frozenset(
    {
        WithLifting,
        InlineClosureLikes,
        MakeFunctionToJitFunction,
        InlineInlinables,
        LiteralUnroll,
        InlineOverloads,
        NopythonRewrites,
    }
)
"""Stages for what no kernel has: closures, comprehensions, blocks under ``with``, whole arrays in an expression."""


class KernelCompiler(Compiler):
    """numba's compiler with ``KernelLowering``."""

    lowering: type = KernelLowering

    def define_pipelines(self) -> list[Any]:
        """The usual stages but for lowering."""
        managers = super().define_pipelines()
        for manager in managers:
            own = {NativeLowering: self.lowering}
            manager.passes = [(own.get(one, one), why) for one, why in manager.passes if one not in _UNUSED]
            manager._finalized = False
            manager.finalize()
        return cast("list[Any]", managers)


class LinkedCompiler(KernelCompiler):
    """numba's compiler with ``LinkedLowering``."""

    lowering = LinkedLowering

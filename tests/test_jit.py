import importlib
import operator
import os
import pickle
import pkgutil
import subprocess
import sys
from pathlib import Path

import llvmlite.binding
import numba
import numpy as np
import pytest
from llvmlite.binding import Linkage
from numba.core import types
from numba.core.compiler import Flags
from numba.core.errors import NumbaError, TypingError
from numba.core.registry import cpu_target

import screening
from screening.jit import Kernel, compiled, kept
from screening.jit.linked import LinkedLibrary, _QuickFlags, signatures_remembered


def kernels():
    for module in pkgutil.walk_packages(screening.__path__, "screening."):
        if ".kernels." in module.name:
            loaded = importlib.import_module(module.name)
            for name, value in vars(loaded).items():
                if hasattr(value, "py_func") and value.py_func.__module__ == module.name:
                    yield f"{module.name}.{name}", value


@pytest.mark.parametrize(("name", "kernel"), list(kernels()))
def test_every_kernel_is_compiled_without_the_lock_and_with_exact_arithmetic(name, kernel):
    options = kernel.targetoptions
    assert options["nogil"]
    assert not options.get("fastmath")
    assert not options.get("parallel")


def test_there_are_kernels():
    assert len(list(kernels())) > 10


def test_plain_python_stays_at_hand():
    @compiled(allocates=True)
    def double(values):
        return 2 * values

    assert double.py_func(3) == 6
    assert double(np.arange(3.0)).tolist() == [0, 2, 4]


@compiled
def squared(x):
    return x * x


@compiled
def sum_of_squares(values):
    total = 0.0
    for i in range(values.shape[0]):
        total += squared(values[i])
    return total


def test_what_a_kernel_calls_is_compiled_within_it_alone(monkeypatch):
    monkeypatch.setattr(kept, "kept_folder", lambda: None)  # else an earlier run's would be fetched
    assert sum_of_squares(np.array([1.0, 2.0, 3.0])) == 14.0
    assert not squared.overloads
    (within,) = squared.linked.overloads.values()
    assert isinstance(within.library, LinkedLibrary)
    assert within.library.get_pointer_to_function(within.fndesc.llvm_func_name) == 0
    assert squared(3.0) == 9.0


def test_an_array_given_back_must_be_declared():
    @compiled
    def itself(values):
        return values

    with pytest.raises(TypingError, match="allocates=True"):
        itself(np.ones((2, 2)))


def test_a_kernel_that_allocates_says_so():
    def doubled(values):
        made = np.empty(values.shape[0])
        for i in range(values.shape[0]):
            made[i] = 2 * values[i]
        return made

    with pytest.raises(TypingError):
        compiled(doubled)(np.ones(3))
    assert compiled(allocates=True)(doubled)(np.arange(3.0)).tolist() == [0.0, 2.0, 4.0]


def write_package(folder, inner="return 2 * x"):
    (folder / "a" / "kernels").mkdir(parents=True, exist_ok=True)
    (folder / "b" / "kernels").mkdir(parents=True, exist_ok=True)
    (folder / "a" / "kernels" / "inner.py").write_text(f"def inner(x):\n    {inner}\n")
    (folder / "a" / "kernels" / "outer.py").write_text("from screening.a.kernels.inner import inner\n")
    (folder / "b" / "kernels" / "other.py").write_text("import numpy\n")


def fingerprints(folder):
    for one in (kept._text, kept.sources, kept.fingerprint):
        one.cache_clear()
    return [kept.fingerprint(folder / name) for name in ("a/kernels/outer.py", "b/kernels/other.py")]


def test_a_change_counts_for_all_that_calls_what_changed_and_for_nothing_else(tmp_path, monkeypatch):
    monkeypatch.setattr(kept, "PACKAGE", tmp_path)
    write_package(tmp_path)
    outer, other = fingerprints(tmp_path)
    write_package(tmp_path, "return 3 * x")
    changed, same = fingerprints(tmp_path)
    assert changed != outer
    assert same == other
    monkeypatch.undo()
    for one in (kept._text, kept.sources, kept.fingerprint):
        one.cache_clear()


def test_the_way_of_compiling_counts_too():
    path = Path(screening.__file__).parent / "roofs" / "kernels" / "advance.py"
    names = {one.relative_to(kept.PACKAGE).as_posix() for one in kept.sources(path)}
    assert {"jit/__init__.py", "jit/kept.py", "jit/linked.py", "roofs/kernels/wave.py"} <= names


@pytest.mark.parametrize("path", sorted(Path(screening.__file__).parent.glob("**/kernels/*.py")), ids=lambda p: p.stem)
def test_kernels_call_kernels_of_their_own_room_alone(path):
    for one in kept.sources(path):
        room = one.relative_to(kept.PACKAGE).parts[0]
        assert room in (path.relative_to(kept.PACKAGE).parts[0], "jit"), one


def test_what_was_compiled_is_found_again_and_only_for_its_types(tmp_path, monkeypatch):
    monkeypatch.setattr(numba.config, "CACHE_DIR", str(tmp_path))
    kernel = Kernel(sum_of_squares.py_func, None, dict(sum_of_squares.targetoptions))
    assert kernel(np.array([1.0, 2.0])) == 5.0
    (file,) = (tmp_path / "screening-kernels").iterdir()
    assert "sum_of_squares" in file.name
    again = Kernel(sum_of_squares.py_func, None, dict(sum_of_squares.targetoptions))
    assert again(np.array([1.0, 2.0])) == 5.0
    assert sum(again.stats.cache_hits.values()) == 1
    file.write_bytes(file.read_bytes()[:100])
    broken = Kernel(sum_of_squares.py_func, None, dict(sum_of_squares.targetoptions))
    assert broken(np.array([1.0, 2.0])) == 5.0
    assert sum(broken.stats.cache_hits.values()) == 0


FRESH_PROCESS = """
import sys
import numpy as np
from screening.jit import compiled

@compiled
def half(x):
    return x // 2

@compiled(allocates=True)
def halves(values, divisor):
    out = np.empty_like(values)
    for i in range(values.size):
        out[i] = half(values[i]) // divisor
    return out

@compiled
def third(x):
    return half(x) // 3

assert halves(np.array([8, 20]), 2).tolist() == [2, 5]
listing = "numba.np.linalg" in sys.modules
try:
    halves(np.array([8]), 0)
except ZeroDivisionError:
    print("caught", sum(halves.stats.cache_hits.values()), listing, third(13))
"""


def test_a_fresh_process_brings_in_the_compiler_only_when_it_compiles(tmp_path):
    script = tmp_path / "fresh.py"
    script.write_text(FRESH_PROCESS)
    outcomes = []
    for _ in range(2):
        found = subprocess.run(
            [sys.executable, str(script)],
            check=True,
            capture_output=True,
            text=True,
            env={**os.environ, "NUMBA_CACHE_DIR": str(tmp_path), "PYTHONPATH": str(kept.PACKAGE.parent)},
        )
        outcomes.append(found.stdout.split())
        for one in (tmp_path / "screening-kernels").glob("*third*"):
            one.unlink()  # so that the second process has to compile after it has fetched
    assert outcomes == [["caught", "0", "True", "2"], ["caught", "1", "False", "2"]]


def test_only_what_python_calls_is_kept_by_name(tmp_path, monkeypatch):
    monkeypatch.setattr(numba.config, "CACHE_DIR", str(tmp_path))
    kernel = Kernel(sum_of_squares.py_func, None, dict(sum_of_squares.targetoptions))
    assert kernel(np.array([1.0, 2.0])) == 5.0
    (compiled_code,) = kernel.overloads.values()
    functions = [one for one in compiled_code.library._final_module.functions if not one.is_declaration]
    outside = [one.name for one in functions if one.linkage != Linkage.internal]
    assert outside == [compiled_code.fndesc.llvm_cpython_wrapper_name]
    (file,) = (tmp_path / "screening-kernels").iterdir()
    _, (library, *_, listing, _, _) = pickle.loads(file.read_bytes())
    assert listing == ""
    linked = llvmlite.binding.parse_bitcode(library[2][1])
    assert [one.name for one in linked.functions] == outside


def test_files_that_nobody_uses_go(tmp_path):
    old, new = tmp_path / "old.kernel", tmp_path / "new.kernel"
    for one in (old, new):
        one.write_bytes(b"")
    os.utime(old, (0, 0))
    kept._remove_unused(tmp_path)
    assert not old.exists()
    assert new.exists()


def test_where_nothing_can_be_written_one_notice_says_so(tmp_path, monkeypatch):
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setattr(numba.config, "CACHE_DIR", str(tmp_path / "file" / "below"))
    with pytest.warns(UserWarning, match="NUMBA_CACHE_DIR"):
        assert kept.kept_folder() is None
    kernel = Kernel(sum_of_squares.py_func, None, dict(sum_of_squares.targetoptions))
    assert kernel(np.array([2.0])) == 4.0


def test_flags_are_alike_where_the_same_was_set_and_keep_numbas_hash():
    flags, other = _QuickFlags(), _QuickFlags()
    flags.nogil = other.nogil = True
    assert flags == other == flags.copy()
    assert hash(flags) == hash(Flags())
    other.fastmath = True
    assert flags != other
    assert _QuickFlags() == Flags()


def test_numba_remembers_signatures_of_plain_types_while_kernels_compile_and_only_then():
    context = cpu_target.typing_context
    add = context.resolve_value_type(operator.add)
    usual = types.Function.get_call_type
    pairs = [(types.float64, types.int32), (types.uint8, types.uint8), (types.boolean, types.float32)]
    wanted = [add.get_call_type(context, pair, {}) for pair in pairs]
    with signatures_remembered():
        assert types.Function.get_call_type is not usual
        first = [add.get_call_type(context, pair, {}) for pair in pairs]
        again = [add.get_call_type(context, pair, {}) for pair in pairs]
        with pytest.raises(NumbaError):
            add.get_call_type(context, (types.float64, types.none), {})
    assert types.Function.get_call_type is usual
    assert first == wanted
    assert all(one is other for one, other in zip(first, again, strict=True))


def test_what_the_compiler_leaves_out_is_an_error_in_a_kernel():
    @compiled(allocates=True)
    def squares(count):
        return [i * i for i in range(count)]

    with pytest.raises(NumbaError):
        squares(3)

import importlib
import pkgutil

import numpy as np
import pytest

import screening
from screening.jit import cache_folder, compiled


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
    @compiled
    def double(values):
        return 2 * values

    assert double.py_func(3) == 6
    assert double(np.arange(3.0)).tolist() == [0, 2, 4]


@pytest.mark.parametrize(("name", "kernel"), list(kernels())[:3])
def test_compiled_code_is_kept_under_a_fingerprint_of_all_kernels(name, kernel):
    assert str(kernel._cache._impl.locator.get_cache_path()).startswith(cache_folder())
    assert "kernels-" in cache_folder()

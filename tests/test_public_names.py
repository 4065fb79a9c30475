import importlib
import pkgutil
import subprocess
import sys

import pytest

import screening


def test_the_public_list_is_what_the_package_promises():
    assert screening.__all__ == [
        "Area",
        "BadInput",
        "Fault",
        "Grid",
        "Rules",
        "Screening",
        "ScreeningError",
        "__version__",
        "area_from_layers",
        "read_area",
        "run_area",
        "screen",
        "write_outputs",
    ]
    for name in screening.__all__:
        assert getattr(screening, name) is not None
    with pytest.raises(AttributeError, match="has no attribute 'moon'"):
        _ = screening.moon


def test_every_public_list_names_what_is_there():
    for module in pkgutil.walk_packages(screening.__path__, "screening."):
        if module.name.endswith("__main__"):
            continue
        loaded = importlib.import_module(module.name)
        for name in getattr(loaded, "__all__", []):
            assert hasattr(loaded, name), f"{module.name}.{name}"


def test_importing_the_package_loads_nothing_heavy():
    code = "import screening, sys; print([m for m in ('numpy', 'pandas', 'numba', 'rasterio') if m in sys.modules])"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"

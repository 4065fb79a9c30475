"""The demo area is found in a checkout and in an installed environment, and missed in words."""

from __future__ import annotations

from importlib import metadata
from pathlib import Path

import pytest

from screening import demo_data
from screening.errors import BadInput

ROOT = Path(__file__).parent.parent


def test_in_a_checkout_it_lies_beside_the_package():
    assert demo_data.demo_area_path() == (ROOT / "demo_area" / "area.toml").resolve()


@pytest.fixture
def installed(tmp_path, monkeypatch):
    """The module as if it were installed elsewhere, without a checkout around it."""
    monkeypatch.setattr(demo_data, "__file__", str(tmp_path / "lib" / "screening" / "demo_data.py"))
    return tmp_path


def test_installed_it_is_found_through_the_package_s_list_of_files(installed, monkeypatch):
    area = installed / "share" / "rain-garden-screening" / "demo_area" / "area.toml"
    area.parent.mkdir(parents=True)
    area.write_text('title = "x"\n', encoding="utf-8")
    listed = metadata.PackagePath("../share/rain-garden-screening/demo_area/area.toml")
    listed.dist = type("Dist", (), {"locate_file": lambda _self, _path: area})()
    monkeypatch.setattr(demo_data.metadata, "files", lambda _name: [metadata.PackagePath("screening/grid.py"), listed])
    assert demo_data.demo_area_path() == area.resolve()


def test_missing_it_says_what_to_do(installed, monkeypatch):
    monkeypatch.setattr(demo_data.metadata, "files", lambda _name: [])
    with pytest.raises(BadInput, match="Install the package again"):
        demo_data.demo_area_path()


def test_every_file_of_the_demo_area_goes_into_the_package():
    import tomllib

    data_files = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"][
        "data-files"
    ]
    taken = {path for patterns in data_files.values() for pattern in patterns for path in ROOT.glob(pattern)}
    there = {path for path in (ROOT / "demo_area").rglob("*") if path.is_file()}
    assert there == {path for path in taken if path.is_file()}

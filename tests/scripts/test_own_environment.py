"""The commands that make their own environment: what they install, when they do nothing, what they say."""

from __future__ import annotations

import importlib.util
import json
import sys
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[2]


@pytest.fixture
def own(tmp_path, monkeypatch):
    spec = importlib.util.spec_from_file_location("own_environment", ROOT / "scripts" / "own_environment.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    (tmp_path / "pyproject.toml").write_text("[project]\n", encoding="utf-8")
    (tmp_path / "pins.txt").write_text("numpy==2\n", encoding="utf-8")
    monkeypatch.setattr(module, "ROOT", tmp_path)
    monkeypatch.setattr(module, "PINS", tmp_path / "pins.txt")
    monkeypatch.setattr(module, "VENV", tmp_path / ".venv")
    monkeypatch.setattr(module, "STAMP", tmp_path / ".venv" / "installed.json")
    return module


@pytest.fixture
def commands(own, monkeypatch):
    """What would have been run; making the environment makes its Python."""
    ran = []

    def note(command, **_settings):
        ran.append([str(word) for word in command])
        own.venv_python().parent.mkdir(parents=True, exist_ok=True)
        own.venv_python().touch()

    monkeypatch.setattr(own, "run", note)
    monkeypatch.setattr(own, "missing_debian_packages", list)
    return ran


def test_first_run_installs_and_the_second_does_nothing(own, commands):
    own.ensure_environment()
    first = len(commands)
    assert first == 3  # the environment, the build tool, the package
    own.ensure_environment()
    assert len(commands) == first


def test_extras_are_added_and_kept(own, commands):
    own.ensure_environment("test")
    assert commands[-1][-1].endswith("[test]")
    own.ensure_environment()
    own.ensure_environment("dask")
    assert commands[-1][-1].endswith("[dask,test]")
    assert json.loads(own.STAMP.read_text(encoding="utf-8"))["extras"] == ["dask", "test"]


@pytest.mark.parametrize("name", ["pyproject.toml", "pins.txt"])
def test_a_changed_file_installs_again(own, commands, name):
    own.ensure_environment()
    first = len(commands)
    (own.ROOT / name).write_text("changed", encoding="utf-8")
    own.ensure_environment()
    assert len(commands) == first + 2  # the environment itself stands


def test_every_install_is_pinned(own, commands):
    own.ensure_environment()
    for command in commands[1:]:
        assert command[command.index("--constraint") + 1] == str(own.PINS)


def test_what_the_system_lacks_is_named_when_not_root(own, monkeypatch):
    monkeypatch.setattr(own, "is_debian_root", lambda: False)
    monkeypatch.setattr(own, "missing_debian_packages", lambda: ["python3-venv", "libexpat1"])
    monkeypatch.setattr(own, "python_command", lambda: sys.executable)
    with pytest.raises(own.CannotGoOn, match="apt-get install python3-venv libexpat1"):
        own.ensure_environment()


def test_another_python_is_refused_by_name(own, monkeypatch):
    monkeypatch.setattr(own, "NEEDED", (3, 5))
    with pytest.raises(own.CannotGoOn, match=r"Python 3\.5 is needed"):
        own.python_command()


def test_a_failing_command_is_told(own):
    with pytest.raises(own.CannotGoOn, match="exit code 3"):
        own.run([sys.executable, "-c", "raise SystemExit(3)"])


def pinned():
    lines = (ROOT / "scripts" / "pins.txt").read_text(encoding="utf-8").splitlines()
    return {canonicalize_name(n): v for n, v in (line.split("==") for line in lines if line and line[0] != "#")}


def test_pins_meet_every_requirement():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    for text in [*project["dependencies"], *extras["test"], *extras["dask"]]:
        need = Requirement(text)
        version = pinned().get(canonicalize_name(need.name))
        assert version is not None, text
        assert need.specifier.contains(version), text


def test_a_library_that_is_not_there_is_told_by_its_package(own):
    assert own.missing_libraries({"libnosuchthing.so.9": "libnosuchthing9"}) == (
        ["libnosuchthing9"] if sys.platform.startswith("linux") else []
    )
    assert own.missing_libraries({}) == []

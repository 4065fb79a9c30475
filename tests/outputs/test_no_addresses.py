"""Outputs asked to hold no address do not depend on addresses at all."""

import zipfile
from dataclasses import replace

import pandas as pd

from screening.outputs import write_outputs
from screening.outputs.extras import Extras
from tests.outputs.made_up import make_screening


def named(words: str):
    """The made-up result with other addresses."""
    made = make_screening()
    lots = made.tables["lots"]
    own = lots.assign(address=pd.array([f"{words} {number}" for number in range(len(lots))], dtype="str"))
    return replace(made, tables={**made.tables, "lots": own})


def content(path):
    """Bytes of a file; of a workbook those of its parts, as a zip keeps the time of writing."""
    if path.suffix != ".xlsx":
        return path.read_bytes()
    with zipfile.ZipFile(path) as parts:
        return b"".join(parts.read(name) for name in sorted(parts.namelist()) if name != "docProps/core.xml")


def test_no_output_depends_on_addresses(tmp_path) -> None:
    asked = {"addresses": False, "public": True, "extras": Extras(geoparquet=True)}
    first = write_outputs(named("Quokka"), tmp_path / "a", **asked)
    second = write_outputs(named("Wombat"), tmp_path / "b", **asked)
    assert len(first) > 25
    for name, path in first.items():
        if path.suffix != ".gpkg":
            assert content(path) == content(second[name]), name
        assert b"Quokka" not in content(path), name
    shown = write_outputs(named("Quokka"), tmp_path / "c")
    for name in ("lots", "approach", "workbook"):
        assert b"Quokka" in content(shown[name]), name
    for name in ("map", "sheets"):
        assert content(shown[name]) != content(first[name]), name

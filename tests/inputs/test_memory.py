import math
import os

import pytest
from affine import Affine

from screening.inputs import inspect_area, memory
from screening.inputs.check import describe
from screening.inputs.findings import Findings
from screening.inputs.memory import machine_memory_b, memory_needed_b, most_cells, tell_memory
from tests.inputs.made_up import NORTH, WEST, plane, write_area, write_raster


def test_a_run_takes_what_was_measured():
    # 20,525,424 cells and 20,000 lots took 3.0 GiB at the peak, 2,080,144 cells and 2,000 lots 0.8 GiB
    assert memory_needed_b(20_525_424, 20_000) / 2**30 == pytest.approx(3.0, rel=0.15)
    assert memory_needed_b(2_080_144, 2_000) / 2**30 == pytest.approx(0.8, rel=0.15)


def test_the_machine_tells_its_memory():
    assert machine_memory_b() == os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES")


def test_a_system_that_does_not_tell_stops_nothing(monkeypatch):
    monkeypatch.delattr(os, "sysconf")
    assert machine_memory_b() is None
    assert most_cells() == math.inf
    findings = Findings()
    tell_memory(10**12, 10**6, findings)
    assert findings.notes == []


def test_too_little_memory_is_a_caution_and_the_report_tells_the_need(tmp_path, monkeypatch):
    path = write_area(tmp_path)
    assert "Memory: a run takes about 0.5 GiB" in describe(inspect_area(path))
    monkeypatch.setattr(memory, "machine_memory_b", lambda: 400e6)
    told = [note.text for note in inspect_area(path).notes if note.kind == "caution"]
    assert any("A run takes about 0.5 GiB of memory, and this machine has 0.4: name a part" in text for text in told)


def test_a_raster_that_can_never_fit_is_a_fault_before_it_is_read(tmp_path, monkeypatch):
    path = write_area(tmp_path)
    monkeypatch.setattr(memory, "machine_memory_b", lambda: memory.CELL_B * 999)
    faults = inspect_area(path).faults
    assert [fault.what for fault in faults] == ["2,000 cells are more than this machine can hold in memory"]
    write_raster(tmp_path / "a.tif", plane()[:, :30])
    write_raster(tmp_path / "b.tif", plane()[:, 30:], transform=Affine(1, 0, WEST + 30, 0, -1, NORTH))
    path.write_text(path.read_text().replace('"dtm.tif"', '["a.tif", "b.tif"]'))
    monkeypatch.setattr(memory, "machine_memory_b", lambda: memory.CELL_B * 700)
    faults = inspect_area(path).faults
    assert [(fault.what, fault.file) for fault in faults] == [
        ("2,000 cells are more than this machine can hold in memory", "a.tif, b.tif")
    ]
    box = f'[within]\nbox = [{WEST + 5}, {NORTH - 40}, {WEST + 26}, {NORTH}]\ncrs = "EPSG:32606"\nmargin = 1\n'
    path.write_text(path.read_text().replace("[elevation]", box + "[elevation]"))
    assert inspect_area(path).faults == ()

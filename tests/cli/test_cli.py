import ctypes
import json
import subprocess
import sys

import pytest
from click.testing import CliRunner

from screening.cli import keep_freed_memory, main, screening
from screening.demo_data import demo_area_path
from screening.rules import Rules


def run(*arguments):
    return CliRunner().invoke(screening, arguments)


@pytest.fixture
def exits(capsys):
    def call(*arguments):
        with pytest.raises(SystemExit) as caught:
            main([str(argument) for argument in arguments])
        printed = capsys.readouterr()
        return caught.value.code, printed.out, printed.err

    return call


def test_every_command_has_help_that_says_what_it_does():
    for name, command in screening.commands.items():
        text = run(name, "--help").output
        assert command.help.split("\n")[0].split()[0] in text
        assert len(command.help) > 60
        assert command.short_help.endswith(".")


def test_exit_codes_are_in_the_help():
    assert "0 done, 1 failed, 2 usage, 3 bad input, 130 interrupted" in " ".join(run("--help").output.split())


def test_rules_are_printed_as_a_file_that_reads_back(exits, tmp_path):
    code, out, _ = exits("rules")
    assert code == 0
    path = tmp_path / "rules.toml"
    path.write_text(out.replace("house_setback_m = 3.0", "house_setback_m = 4.0"))
    assert "house_setback_m = 4.0" in path.read_text()
    code, again, _ = exits("rules", path)
    assert code == 0
    assert "house_setback_m = 4.0" in again
    for name in Rules.model_fields:
        assert f"\n{name} = " in out


def test_usage_errors_exit_with_2(exits):
    assert exits("run")[0] == 2
    assert exits("moon")[0] == 2


def test_bad_input_exits_with_3_and_names_every_fault(exits, tmp_path):
    path = tmp_path / "area.toml"
    path.write_text('title = "Nothing"\n[elevatoin]\nfile = "dtm.tif"\n[lots]\nfile = "lots.gpkg"\n')
    code, out, err = exits("run", path, "--out", tmp_path / "out")
    assert code == 3
    assert out == ""
    assert "elevatoin" in err
    assert "elevation" in err
    assert "lots.gpkg" in err
    assert not (tmp_path / "out").exists()
    assert "Traceback" not in err


def test_check_reports_what_it_found_before_the_faults(exits, tmp_path):
    text = demo_area_path().read_text()
    folder = demo_area_path().parent.as_posix()
    text = text.replace('file = "', f'file = "{folder}/').replace('export = "', f'export = "{folder}/')
    path = tmp_path / "area.toml"
    path.write_text(text.replace("roofs.geojson", "not_there.geojson"))
    code, out, err = exits("check", path)
    assert code == 3
    assert "lots:" in out
    assert "not_there.geojson" in err
    path.write_text(text)
    code, out, err = exits("check", path)
    assert (code, err) == (0, "")
    assert "Soil" in out
    assert "steps of the rain record are missing" in out
    (tmp_path / "rain.csv").write_text("date,rain_mm\n2001-01-01,soon\n")
    path.write_text(text.replace(f"{folder}/rain.csv", (tmp_path / "rain.csv").as_posix()))
    code, out, err = exits("check", path)
    assert code == 3
    assert "lots:" in out
    assert "rain" in err


def test_interrupting_exits_with_130(exits, monkeypatch, tmp_path):
    def stop(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("screening.pipeline.run_area", stop)
    code, _, err = exits("run", tmp_path / "area.toml", "--out", tmp_path / "out")
    assert code == 130
    assert "Interrupted" in err


def test_a_failure_that_can_be_explained_exits_with_1(exits, monkeypatch, tmp_path):
    from screening.errors import StageFailed

    def fail(*_, **__):
        raise StageFailed("terrain failed on tile 3")

    monkeypatch.setattr("screening.pipeline.run_area", fail)
    code, _, err = exits("run", tmp_path / "area.toml", "--out", tmp_path / "out")
    assert code == 1
    assert err == "error: terrain failed on tile 3\n"


def test_the_module_runs_as_a_program():
    out = subprocess.run([sys.executable, "-m", "screening", "--version"], capture_output=True, text=True, check=True)
    assert out.stdout.startswith("screening, version ")


def test_the_demo_writes_every_output_and_says_where_the_map_is(exits, tmp_path):
    code, out, err = exits("demo", "--out", tmp_path / "demo")
    assert code == 0
    assert f"Map: {(tmp_path / 'demo' / 'map.html').resolve()}" in out
    assert "First 5 to approach:" in out
    assert "[1/5] reading" in err
    written = {path.relative_to(tmp_path / "demo").as_posix() for path in (tmp_path / "demo").rglob("*.*")}
    assert {
        "map.html",
        "lots.gpkg",
        "approach.csv",
        "ruled_out.csv",
        "streets.csv",
        "run.json",
        "timings.json",
        "columns.csv",
        "terrain/slope_pct.tif",
        "terrain/flow_direction.tif",
        "terrain/accumulation_cells.tif",
    } <= written
    record = json.loads((tmp_path / "demo" / "run.json").read_text())
    assert record["counts"]["lots"] >= 250
    again, _, err = exits("run", demo_area_path(), "--out", tmp_path / "demo")
    assert again == 3
    assert "results of an earlier run" in err


def test_the_c_library_keeps_freed_memory_and_another_one_is_let_be(monkeypatch):
    assert keep_freed_memory() is hasattr(ctypes.CDLL(None), "mallopt")
    monkeypatch.setattr(ctypes, "CDLL", lambda _: object())
    assert keep_freed_memory() is False

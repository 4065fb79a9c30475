import re
from importlib.resources import files

import pytest

from screening.inputs.area_file import parse_area_file
from screening.inputs.area_model import LAYER_MODELS, TABLE_MODELS
from screening.inputs.findings import Findings
from screening.inputs.rules_file import rules_from

GUIDE = files("screening").joinpath("guide/area_file.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```toml\n(.*?)```", GUIDE, re.DOTALL)
EVERYWHERE = {"file", "database", "layer", "crs", "encoding"}


def section(table):
    """The part of the page whose heading names the table."""
    parts = re.split(r"^## ", GUIDE, flags=re.MULTILINE)
    return next(part for part in parts if f"[{table}]" in part.splitlines()[0])


@pytest.mark.parametrize("table", TABLE_MODELS)
def test_every_key_stands_in_its_section(table):
    text = section(table)
    for key in TABLE_MODELS[table].model_fields:
        if table in LAYER_MODELS and key in EVERYWHERE:
            assert f"`{key}`" in GUIDE
        else:
            assert f"`{key}`" in text, f"[{table}] {key}"


def test_keys_told_are_keys_that_exist():
    for table, model in TABLE_MODELS.items():
        if f"## [{table}]\n" not in GUIDE:
            continue
        for row in re.findall(r"^\| (`[^|]*`) \|", section(table), re.MULTILINE):
            for key in re.findall(r"`(\w+)`", row):
                assert key in model.model_fields, f"[{table}] {key}"


@pytest.mark.parametrize("example", EXAMPLES)
def test_examples_are_understood(tmp_path, example):
    path = tmp_path / "area.toml"
    path.write_text(example, encoding="utf-8")
    findings = Findings()
    area = parse_area_file(path, findings)
    rules = {key: value for key, value in area.rules.items() if key not in ("file", "by_lot")}
    rules_from(rules, findings)
    told = [str(fault) for fault in findings.faults if "The area file has no [" not in fault.what]
    assert told == []


def test_the_smallest_example_is_complete(tmp_path):
    path = tmp_path / "area.toml"
    path.write_text(EXAMPLES[0], encoding="utf-8")
    findings = Findings()
    parse_area_file(path, findings)
    assert findings.faults == []

import re

import numpy as np
import pandas as pd
import pytest

from screening.fields import LAYERS, REASONS, TABLES, Field, conform, round_half_up
from screening.rules import RULE_GROUPS, Rules

UNIT_ENDINGS = {
    "_m": "m",
    "_m2": "m2",
    "_m3": "m3",
    "_mm": "mm",
    "_pct": "%",
    "_um_s": "um/s",
    "_deg": ("degrees", "degrees from north"),
    "_share": "0 to 1",
    "_mm_h": "mm/h",
}


@pytest.mark.parametrize("name", sorted(TABLES))
def test_every_column_is_told_once_with_a_sentence_and_its_unit(name):
    fields = TABLES[name]
    names = [field.name for field in fields]
    assert len(names) == len(set(names))
    for field in fields:
        assert re.fullmatch(r"[a-z][a-z0-9_]*", field.name)
        assert field.meaning.endswith(".")
        if field.dtype == "number":
            for ending, unit in UNIT_ENDINGS.items():
                if field.name.endswith(ending):
                    assert field.unit in unit if isinstance(unit, tuple) else field.unit == unit, field.name


def test_layers_are_told():
    assert {layer.name for layer in LAYERS} >= {"slope_pct", "flow_direction", "accumulation_cells", "hollow_depth_m"}
    assert all(layer.meaning.endswith(".") for layer in LAYERS)


def test_reasons_point_at_rules_that_exist():
    for code, reason in REASONS.items():
        assert code == reason.code
        assert reason.rule == "" or reason.rule in Rules.model_fields, code
        assert set(re.findall(r"{(\w+)}", reason.sentence)) <= {"measured", "limit", "detail"}


def test_rule_groups_start_at_rules_in_order():
    order = list(Rules.model_fields)
    places = [order.index(name) for name, _ in RULE_GROUPS]
    assert places == sorted(places)
    assert places[0] == 0


def test_halves_round_up_on_whole_steps():
    assert round_half_up([0.125, 0.375, -0.125, np.nan], 0.25).tolist()[:3] == [0.25, 0.5, 0.0]
    assert round_half_up([2.5, 3.5], 1).tolist() == [3.0, 4.0]
    assert round_half_up([0.045], 0.01).tolist() == [0.05]
    assert np.isnan(round_half_up([np.nan], 0.1))[0]
    assert round_half_up([0.123456], 0).tolist() == [0.123456]


def test_conform_orders_types_rounds_and_keeps_missing():
    fields = (
        Field("lot_id", "text", "", 0, "inputs", "Id."),
        Field("area_m2", "number", "m2", 0.1, "inputs", "Area."),
        Field("count", "integer", "", 0, "inputs", "Count."),
        Field("given", "flag", "", 0, "inputs", "Flag."),
    )
    table = conform(pd.DataFrame({"area_m2": [1.25, np.nan], "lot_id": ["007", "8"]}), fields)
    assert list(table.columns) == ["lot_id", "area_m2", "count", "given"]
    assert table["lot_id"].tolist() == ["007", "8"]
    assert table["area_m2"].tolist()[0] == 1.3
    assert table["area_m2"].isna().tolist() == [False, True]
    assert table["count"].isna().all()
    with pytest.raises(ValueError, match="not declared in fields: moon"):
        conform(pd.DataFrame({"moon": [1]}), fields)

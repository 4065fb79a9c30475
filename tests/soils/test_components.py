import numpy as np
import pandas as pd
import pytest

from screening.rules import Rules
from screening.soils.components import (
    DISTURBED,
    RESTRICTIVE_KINDS,
    component_facts,
    derived_groups,
    impermeable_depth_cm,
    wet_depth_cm,
)

RULES = Rules()


def test_the_high_water_table_is_the_shallowest_wet_month(tables):
    assert wet_depth_cm(tables).to_dict() == {"31": 40.0}
    assert wet_depth_cm({"component": tables["component"]}).empty


def test_impermeable_layers_are_restrictions_of_their_kinds_or_very_slow_horizons(tables):
    assert impermeable_depth_cm(tables).to_dict() == {"12": 140.0, "31": 76.0}
    tables["chorizon"].loc[len(tables["chorizon"])] = ["31", 152, 200, 0.009]
    tables["corestrictions"] = tables["corestrictions"].iloc[:1]
    assert impermeable_depth_cm(tables).to_dict() == {"12": 140.0, "31": 152.0}


@pytest.mark.parametrize(
    "kind", ["Fragipan", "Bedrock, paralithic", "Densic material", "Cemented horizon", "Permafrost"]
)
def test_restrictive_kinds(kind):
    assert any(word in kind.lower() for word in RESTRICTIVE_KINDS)


def test_groups_derived_from_horizons(tables):
    # 31: fragipan at 76 cm, water table at 40 cm, 9 um/s to 60 cm: C/D; 12: 0.2 um/s to 100 cm: D; 13 has no horizons
    assert derived_groups(tables).to_dict() == {"11": "B", "12": "D", "22": "B", "31": "C/D"}


def test_a_depth_ends_at_the_impermeable_layer(tables):
    tables["corestrictions"]["resdept_r"] = [140, 55, 20]
    tables["chorizon"].loc[tables["chorizon"]["cokey"] == "31", "hzdepb_r"] = [55, 120, 152]
    tables["chorizon"].loc[tables["chorizon"]["cokey"] == "31", "hzdept_r"] = [0, 55, 120]
    assert derived_groups(tables)["31"] == "C/D"  # 9 um/s above the fragipan, not the 1 um/s within it


def test_the_survey_s_own_group_comes_before_a_derived_one(tables):
    facts = component_facts(tables, RULES)
    assert facts["label"].to_dict() == {
        "11": "B",
        "12": "D",
        "13": "unknown",
        "21": "unknown",
        "22": "B",
        "31": "C/D",
        "32": "B",
    }
    assert facts["source"].tolist() == ["survey", "derived", "none", "none", "survey", "derived", "survey"]


def test_depths_and_conductivity_of_components(tables):
    facts = component_facts(tables, RULES)
    # the bed's bottom lies at 52.5 cm and reaches 60 cm further: above is dug out, below 112.5 too deep
    assert facts["ksat_um_s"].to_dict() == pytest.approx(
        {"11": 9.0, "12": 0.2, "13": np.nan, "21": np.nan, "22": 9.0, "31": 1.0, "32": np.nan}, nan_ok=True
    )
    assert facts["water_table_m"].dropna().to_dict() == {"31": 0.4}
    assert facts["bedrock_m"].dropna().to_dict() == {"12": 1.4}
    shallow = component_facts(tables, Rules(bed_depth_mm=0, mulch_mm=0, water_table_clearance_m=0.1))
    assert shallow["ksat_um_s"]["11"] == 28.0
    assert shallow["ksat_um_s"]["12"] == 2.7


@pytest.mark.parametrize(
    ("name", "disturbed"),
    [
        ("Urban land", True),
        ("Made land", True),
        ("Pits, gravel", True),
        ("Dams", True),
        ("Water", True),
        ("Udorthents", True),
        ("Quarries", True),
        ("Gullied land", False),
        ("Waterman", False),
        ("Pittsburg", False),
        ("Riverwash", False),
    ],
)
def test_ground_that_is_made_moved_or_under_water(name, disturbed):
    assert bool(DISTURBED.search(name)) is disturbed


def test_text_numbers_and_empty_values_are_read(tables):
    tables["chorizon"] = tables["chorizon"].astype(str).replace("nan", "")
    tables["component"]["comppct_r"] = tables["component"]["comppct_r"].astype(str)
    assert derived_groups(tables)["11"] == "B"
    assert component_facts(tables, RULES)["percent"].tolist() == [60, 30, 10, 55, 45, 85, 15]
    empty = {"component": tables["component"]}
    assert derived_groups(empty).empty
    assert isinstance(component_facts(empty, RULES), pd.DataFrame)

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Point

from screening.area import LAYER_COLUMNS
from screening.inputs.columns import as_flags, as_ids, as_lengths, as_text, typed_columns
from screening.inputs.findings import Findings
from screening.units import FOOT_M


@given(st.lists(st.text(min_size=1).filter(str.strip), max_size=8))
def test_text_ids_are_kept_letter_for_letter(ids):
    assert as_ids(pd.Series(ids, dtype=object)).tolist() == ids


@given(st.lists(st.integers(-(2**53) + 1, 2**53 - 1), min_size=1, max_size=8))
def test_whole_numbers_become_ids_without_a_point(numbers):
    expected = [str(number) for number in numbers]
    assert as_ids(pd.Series(numbers)).tolist() == expected
    with_gap = pd.Series([*numbers, None], dtype="float64")
    assert as_ids(with_gap).tolist()[:-1] == [text if text != "-0" else "0" for text in expected]
    assert as_ids(with_gap).isna().tolist()[-1]


def test_ids_that_are_none():
    assert as_ids(pd.Series(["0012", "", "  ", None, np.nan, 1.5])).tolist()[0] == "0012"
    assert as_ids(pd.Series(["0012", "", "  ", None, np.nan, 1.5])).isna().tolist() == [False, *[True] * 4, False]
    assert as_ids(pd.Series([1.5])).tolist() == ["1.5"]
    assert as_ids(pd.Series([True])).tolist() == ["True"]


def test_text_is_stripped_and_empty_text_is_missing():
    out = as_text(pd.Series([" Elm ", "", " ", None, 12, 12.0]))
    assert out.dropna().tolist() == ["Elm", "12", "12"]
    assert out.dtype == "str"


def test_flags_as_people_write_them():
    words = ["Y", "yes", "TRUE", 1, 1.0, True, "N", "no", "f", 0, False, "", None, "maybe"]
    flags, odd = as_flags(pd.Series(words, dtype=object))
    assert flags.tolist()[:6] == [True] * 6
    assert flags.tolist()[6:11] == [False] * 5
    assert flags.isna().tolist()[11:] == [True] * 3
    assert odd == {"maybe": 1}
    assert flags.dtype == "boolean"
    assert as_flags(pd.Series([1.0, 0.0, np.nan]))[0].tolist()[:2] == [True, False]


def test_lengths_are_converted_and_missing_is_never_zero():
    lengths, odd = as_lengths(pd.Series(["3", 2.5, None, "", "x", -1, 0], dtype=object), FOOT_M, zero_is_a_length=False)
    assert lengths.tolist()[:2] == [3 * FOOT_M, 2.5 * FOOT_M]
    assert lengths.isna().tolist() == [False, False, True, True, True, True, True]
    assert odd == {"x": 1, "-1": 1}
    assert as_lengths(pd.Series([0, 1]), 1.0, zero_is_a_length=True)[0].tolist() == [0.0, 1.0]
    assert lengths.dtype == "Float64"


@pytest.mark.parametrize(
    ("factor", "told"),
    [
        (1.0, ["trunk_m: 2 of 4 are over 3 m, the largest 40 m: check the unit, which trunk_unit in [trees] tells."]),
        (0.0254, []),
    ],
    ids=["inches as metres", "inches"],
)
def test_lengths_in_a_mistaken_unit_are_told(factor, told):
    frame = gpd.GeoDataFrame({"trunk_m": [40.0, 16.0, 3.0, None]}, geometry=[Point(0, 0)] * 4, crs="EPSG:32606")
    findings = Findings()
    out = typed_columns(frame, "trees", findings, factors={"trunk_m": factor})
    assert out["trunk_m"].iloc[0] == 40.0 * factor
    assert [note.text for note in findings.notes] == told


@pytest.mark.parametrize("layer", LAYER_COLUMNS)
def test_every_column_is_there_and_typed(layer):
    frame = gpd.GeoDataFrame({"odd": [1]}, geometry=[Point(0, 0)], crs="EPSG:32606")
    out = typed_columns(frame, layer, Findings())
    assert tuple(out.columns) == (*LAYER_COLUMNS[layer], "geometry")
    assert out.drop(columns="geometry").isna().all(axis=None)
    kinds = {str(dtype) for name, dtype in out.dtypes.items() if name != "geometry"}
    assert kinds <= {"str", "boolean", "Float64"}


def test_choices_know_their_words_and_tell_the_others():
    frame = gpd.GeoDataFrame(
        {"kind": ["House ", "RES", "res", "barn", None], "basement": ["Y", "?", None, "n", "N"]},
        geometry=[Point(0, 0)] * 5,
        crs="EPSG:32606",
    )
    findings = Findings()
    out = typed_columns(frame, "roofs", findings, words={"kind": {"RES": "house"}})
    assert out["kind"].tolist()[:3] == ["house"] * 3
    assert out["kind"].isna().tolist() == [False, False, False, True, True]
    assert "'barn' (1) not understood, taken as missing. Known: house, garage, shed" in findings.notes[0].text
    assert "kind_values" in findings.notes[0].text
    assert "basement: '?' (1)" in findings.notes[1].text

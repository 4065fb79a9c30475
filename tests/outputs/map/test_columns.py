import numpy as np
import pandas as pd

from screening.fields import Field
from screening.outputs.map.columns import Columns, columns_of
from screening.outputs.map.pack import Pack

FIELDS = (
    Field("lot_id", "text", "", 0, "inputs", "The lot."),
    Field("soil", "text", "", 0, "soils", "Its soil."),
    Field("fall_m", "number", "m", 0.01, "siting", "Its fall."),
)
LOTS = pd.Series(["L1", "L2", "L3"], dtype="str")
TABLE = pd.DataFrame(
    {
        "lot_id": pd.array(["L3", "L1", "L3", "L2"], dtype="str"),
        "soil": pd.array(["loam", None, "clay", "sand"], dtype="str"),
        "fall_m": pd.array([0.5, -0.02, None, 0.0], dtype="Float64"),
    }
)


def numbers(table: Columns) -> list[list[int]]:
    return [column.numbers.tolist() for column in table.columns]


def test_rows_are_told_by_the_number_of_their_lot_and_words_by_their_place() -> None:
    table = columns_of(TABLE, FIELDS, LOTS)
    assert table.lots.tolist() == [2, 0, 2, 1]
    assert numbers(table) == [[3, 1, 3, 2], [2, 0, 1, 3], [101, 4, 0, 1]]
    assert table.columns[1].words == ["clay", "loam", "sand"]


def test_a_part_is_what_its_own_rows_alone_would_give() -> None:
    rows, lots = np.array([0, 3]), np.array([-1, 0, 1])
    part = columns_of(TABLE, FIELDS, LOTS).of(rows, lots)
    alone = columns_of(TABLE.iloc[rows].reset_index(drop=True), FIELDS, LOTS[1:])
    assert numbers(part) == numbers(alone) == [[2, 1], [1, 2], [101, 1]]
    assert part.columns[1].words == alone.columns[1].words == ["loam", "sand"]
    assert part.rows == 2


def test_a_part_without_words_keeps_what_is_missing() -> None:
    part = columns_of(TABLE, FIELDS, LOTS).of(np.array([1]), np.array([0, -1, -1]))
    assert numbers(part) == [[1], [0], [4]]
    assert part.columns[1].words == []


def test_only_some_columns_keep_the_lot() -> None:
    table = columns_of(TABLE, FIELDS, LOTS).only({"fall_m"})
    told = table.add_to(Pack())
    assert [column["name"] for column in told["columns"]] == ["lot", "fall_m"]
    assert told["columns"][0] == {"name": "lot", "dtype": "lot", "section": 0}
    assert told["columns"][1]["step"] == 0.01


def test_heights_are_told_by_what_they_have_more_than_the_ground() -> None:
    fields = tuple(
        Field(name, "number", "m", 0.01, "siting", "A height.") for name in ("lip_m", "ground_m", "lip_low_m")
    )
    heights = pd.DataFrame(
        {"ground_m": [100.0, 90.5], "lip_m": [100.02, 90.4], "lip_low_m": [99.9, 90.4]}, dtype="Float64"
    )
    table = columns_of(heights, fields)
    assert numbers(table) == [[5, 20], [20001, 18101], [24, 1]]
    assert [column.less for column in table.columns] == ["ground_m", None, "lip_m"]
    assert table.add_to(Pack())["columns"][2]["less"] == "lip_m"
    heights.loc[1, "lip_m"] = pd.NA
    told = columns_of(heights, fields)
    assert [column.less for column in told.columns] == [None, None, None]
    assert numbers(told)[0] == [20005, 0]


def test_the_table_of_lots_tells_their_ids() -> None:
    table = columns_of(TABLE, FIELDS)
    assert table.lots is None
    assert table.columns[0].words == ["L1", "L2", "L3"]

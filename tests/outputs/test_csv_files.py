from __future__ import annotations

import csv
from pathlib import Path

import pandas as pd

from screening.fields import LAYERS, TABLES
from screening.outputs.csv_files import approach_list, csv_text, ruled_out_list
from screening.result import Screening


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_missing_is_empty_flags_are_words_and_numbers_stay_numbers() -> None:
    table = pd.DataFrame(
        {
            "n": pd.array([-1.5, None], dtype="Float64"),
            "i": pd.array([None, 3], dtype="Int64"),
            "f": pd.array([True, None], dtype="boolean"),
            "t": pd.array(["-x", None], dtype="str"),
        }
    )
    assert csv_text(table) == "n,i,f,t\n-1.5,,yes,'-x\n,3,,\n"


def test_visits_go_street_by_street_in_the_order_of_the_best_lot(made_up: Screening) -> None:
    rows = approach_list(made_up)
    lots = made_up.tables["lots"]
    assert sorted(rows["rank"]) == list(range(1, int(lots["rank"].notna().sum()) + 1))
    assert rows["visit"].tolist() == list(range(1, len(rows) + 1))
    streets = rows["street"].drop_duplicates().tolist()
    best = [rows.loc[rows["street"] == street, "rank"].min() for street in streets]
    assert best == sorted(best)
    for street in streets:
        own = rows.loc[rows["street"] == street]
        assert own["rank"].is_monotonic_increasing
        assert own["visit"].max() - own["visit"].min() == len(own) - 1


def test_ruled_out_names_the_deciding_limit_first_and_every_other(made_up: Screening) -> None:
    rows = ruled_out_list(made_up)
    lots = made_up.tables["lots"].set_index("lot_id")
    assert set(rows["lot_id"]) == set(lots.index[lots["verdict"] == "ruled out"])
    first = rows[rows["failed"] == 1].set_index("lot_id")["code"]
    assert (first == lots.loc[first.index, "deciding_limit"]).all()
    two = rows[rows["lot_id"] == "L00004"]
    assert two["code"].tolist() == ["no_room", "slope"]
    assert two["near"].tolist() == [False, True]
    assert not two["near_pass"].any()
    assert "18% under the garden" in two["sentence"].iloc[1]


def test_the_files_hold_what_the_tables_hold(made_up: Screening, written: dict[str, Path]) -> None:
    approach = _rows(written["approach"])
    lots = made_up.tables["lots"].set_index("lot_id")
    for row in approach[:5]:
        lot = lots.loc[row["lot_id"]]
        assert int(row["rank"]) == lot["rank"]
        assert int(row["score"]) == lot["score"]
        assert float(row["storm_kept_m3"]) == lot["storm_kept_m3"]
        assert row["year_kept_m3"] == ""
        assert row["eligible"] == "yes"
    streets = _rows(written["streets"])
    assert sum(int(row["lots"]) for row in streets) == len(lots)
    assert "geometry" not in streets[0]
    for name in ("approach", "ruled_out", "streets", "columns"):
        assert b"\r" not in written[name].read_bytes()


def test_columns_tells_of_every_column_of_every_table(written: dict[str, Path]) -> None:
    rows = _rows(written["columns"])
    wanted = [(name, field.name) for name, fields in TABLES.items() for field in fields]
    wanted += [("terrain", field.name) for field in LAYERS]
    assert [(row["table"], row["column"]) for row in rows] == wanted
    assert all(row["meaning"] for row in rows)

import numpy as np
import pandas as pd
import pytest

from screening.errors import BadInput
from screening.water.ghcn_daily import is_by_year_line, read_dly
from screening.water.rain_files import read_rain


def csv(folder, text, name="rain.csv"):
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def dly_line(month, values, element="PRCP", station="XX000000001"):
    cells = "".join(f"{value:>5}{measured}{quality}{source}" for value, measured, quality, source in values)
    return f"{station}2023{month:02d}{element}{cells}"


def test_a_dly_file(tmp_path):
    # layout of the GHCN-Daily readme: value 5, three flags of 1; tenths of mm; -9999 missing; T a trace
    february = [(0, " ", " ", "X")] * 28 + [(-9999, " ", " ", " ")] * 3
    february[1] = (254, " ", " ", "X")
    february[2] = (0, "T", " ", "X")
    february[3] = (9990, " ", "X", "X")
    february[4] = (-9999, " ", " ", " ")
    lines = [dly_line(2, february), dly_line(2, [(999, " ", " ", " ")] * 31, element="SNWD")]
    path = csv(tmp_path, "\n".join(lines) + "\n", "station.dly")
    assert len(lines[0]) == 269
    assert len(read_dly(path)) == 28
    found = read_rain([path])
    table = found.table
    assert len(table) == 28
    assert table["start"].iloc[[0, -1]].tolist() == [pd.Timestamp("2023-02-01"), pd.Timestamp("2023-02-28")]
    assert table["step_h"].unique().tolist() == [24.0]
    assert table["depth_mm"].iloc[:6].tolist() == pytest.approx([0.0, 25.4, 0.0, np.nan, np.nan, 0.0], nan_ok=True)
    texts = [note.text for note in found.notes]
    assert texts == [
        "1 trace of rain counts as none.",
        "1 rain value failed a quality check and was left out.",
        "2 of 28 steps of the rain record are missing, in 1 gap.",
    ]


def test_a_by_year_file(tmp_path):
    lines = [
        "XX000000001,20230101,TMIN,140,,,S,",
        "XX000000001,20230101,PRCP,25,,,S,0700",
        "XX000000001,20230102,PRCP,0,T,,S,0700",
        "XX000000001,20230104,PRCP,508,,D,S,0700",
    ]
    assert is_by_year_line(lines[0])
    assert not is_by_year_line("date,precipitation")
    found = read_rain([csv(tmp_path, "\n".join(lines) + "\n")])
    assert found.table["depth_mm"].tolist() == pytest.approx([2.5, 0.0, np.nan, np.nan], nan_ok=True)


def test_a_plain_file_with_its_unit_in_the_head(tmp_path):
    path = csv(
        tmp_path, "date,temp,precip_in\n2023-01-01,5,0.5\n2023-01-02,5,T\n2023-01-03,5,NA\n2023-01-05,5,-99.99\n"
    )
    found = read_rain([path])
    assert found.table["depth_mm"].tolist() == pytest.approx([12.7, 0, np.nan, np.nan, np.nan], nan_ok=True)
    assert "3 of 5 steps" in found.notes[-1].text


def test_an_hourly_file_with_zone_and_named_columns(tmp_path):
    path = csv(tmp_path, "when,mm of it\n2023-01-01T05:00:00Z,1\n2023-01-01T06:00:00Z,2\n2023-01-01T08:00:00Z,4\n")
    found = read_rain([path], unit_mm=1.0, date="when", depth="mm of it")
    assert found.table["step_h"].unique().tolist() == [1.0]
    assert found.table["depth_mm"].tolist() == pytest.approx([1, 2, np.nan, 4], nan_ok=True)
    assert any("UTC" in note.text for note in found.notes)


def test_dates_in_parts_and_month_first(tmp_path):
    path = csv(tmp_path, "Year,Month,Day,Hour,Rain_mm\n2023,1,31,23,1\n2023,2,1,0,2\n")
    assert read_rain([path]).table["start"].tolist() == [pd.Timestamp("2023-01-31 23:00"), pd.Timestamp("2023-02-01")]
    found = read_rain([csv(tmp_path, "date,rain_mm\n5/30/2023,1\n5/31/2023,2\n")])
    assert found.table["start"].iloc[-1] == pd.Timestamp("2023-05-31")
    assert any("month first" in note.text for note in found.notes)


def test_flags_beside_the_depth_or_behind_it(tmp_path):
    text = (
        'DATE,PRCP,PRCP_ATTRIBUTES\n2023-01-01,10,",,N"\n2023-01-02,10,"T,,N"\n2023-01-03,10,",X,N"\n2023-01-04,10s,\n'
    )
    found = read_rain([csv(tmp_path, text)], unit_mm=0.1)
    assert found.table["depth_mm"].tolist() == pytest.approx([1.0, 1.0, np.nan, np.nan], nan_ok=True)


def test_several_files_and_repeated_rows(tmp_path):
    one = csv(tmp_path, "date,rain_mm\n2023-01-01,1\n2023-01-02,2\n", "a.csv")
    two = csv(tmp_path, "date,rain_mm\n2023-01-02,2\n2023-01-03,3\n", "b.csv")
    found = read_rain([two, one])
    assert found.table["depth_mm"].tolist() == [1.0, 2.0, 3.0]
    assert "1 repeated rows" in found.notes[0].text


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("date,rain\n2023-01-01,1\n", "unit of column 'rain' is not said"),
        ("date,rain_mm\n2023-13-01,1\n", "1 dates cannot be read, the first '2023-13-01'"),
        ("date,rain_mm\n2023-01-01,wet\n", "the first 'wet'"),
        ("when,rain_mm\n2023-01-01,1\n", "No column looks like the date"),
        ("date,snow\n2023-01-01,1\n", "No column looks like the depth"),
        ("date,rain_mm\n2023-01-01,1\n2023-01-01,2\n2023-01-02,2\n", "1 times of the rain record have two values"),
        (
            "date,rain_mm\n2023-01-01 00:00,1\n2023-01-01 01:00,1\n2023-01-01 02:00,1\n2023-01-01 02:30,1\n",
            "lie off its step",
        ),
        ("date,rain_mm\n2023-01-01,1\n2023-01-08,1\n2023-01-15,1\n", "does not fit into a day"),
        ("station,date,rain_mm\na,2023-01-01,1\nb,2023-01-01,1\n", "mixes 2 stations"),
        ("date,rain_mm\n2023-01-01,2500\n2023-01-02,0\n", "check the unit"),
        ("date,rain_mm\n", "holds no value"),
    ],
)
def test_broken_records_are_refused_with_a_reason(tmp_path, text, told):
    with pytest.raises(BadInput, match=told):
        read_rain([csv(tmp_path, text)])


def test_every_fault_is_told_at_once(tmp_path):
    with pytest.raises(BadInput) as caught:
        read_rain([csv(tmp_path, "date,rain\n2023-13-01,1\n"), tmp_path / "none.csv"])
    assert len(caught.value.faults) == 3


def test_a_given_column_must_be_there(tmp_path):
    path = csv(tmp_path, "date,rain_mm\n2023-01-01,1\n")
    with pytest.raises(BadInput, match="There is no column 'prcp'"):
        read_rain([path], depth="prcp")

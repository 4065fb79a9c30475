"""The field file: read as text, in SI, every fault at once; its template validates."""

import csv
import io

import geopandas as gpd
import numpy as np
import pytest
from shapely import Point

from screening.errors import BadInput
from screening.inputs.field_columns import COLUMNS, field_template
from screening.inputs.field_file import read_field_files
from tests.season.cases import write_field
from tests.siting.lots import CRS_METRE

LOTS = ["A-001", "A-002", "007"]


def read(tmp_path, text, **more):
    path = tmp_path / "field.csv"
    path.write_text(text, encoding="utf-8")
    return read_field_files([path], LOTS, **more)


def test_the_template_validates_and_explains_every_column(tmp_path):
    text = field_template()
    assert len(read(tmp_path, text)) == 0
    for column in COLUMNS:
        assert f"# {column.name}" in text


def test_the_templates_examples_validate(tmp_path):
    lines = field_template().splitlines()
    start = next(number for number, line in enumerate(lines) if "examples" in line)
    rows = [line[2:] for line in lines[start + 1 : -1]]
    table = read(tmp_path, "\n".join([lines[-1], *rows]))
    assert table["what"].tolist() == ["approach", "call", "test", "level", "consent", "ticket", "status", "built"]
    assert len(next(csv.reader(io.StringIO(rows[0])))) == len(COLUMNS)


def test_an_id_may_begin_with_a_hash(tmp_path):
    path = tmp_path / "field.csv"
    rows = "#12,call,2026-04-01\n#12,approach,2026-03-01\n13,call,2026-04-02\n"
    head = '# what follows, is made up\n"# quoted, by a spreadsheet",,\n\nlot,what,date\n'
    path.write_text(head + rows, encoding="utf-8")
    table = read_field_files([path], ["#12", "13"])
    assert table["lot_id"].tolist() == ["#12", "#12", "13"]
    assert table["row"].tolist() == [6, 5, 7]
    with pytest.raises(BadInput, match="#12"):  # below the head nothing is passed over in silence
        read_field_files([path], ["13"])


def test_numbers_become_si_and_ids_stay_text(tmp_path):
    test = {"what": "test", "hole_depth": 24, "hole_width": 12, "fill_1_h": 9, "fill_2_h": 14, "rain_48h": 0.5}
    field = write_field(
        tmp_path / "f.csv",
        {"lot": "007", "units": "us", **test},
        {"lot": "A-001", "units": "metric", **test},
        {"lot": "A-002", "units": "us", "what": "built", "ponding_area": 100, "ponding_depth": 6, "bed_depth": 12,
         "area_treated": 500, "native_share": 0.75},
    )  # fmt: skip
    table = read_field_files([field], LOTS).set_index("lot_id")
    assert table.loc["007", "hole_depth"] == pytest.approx(0.6096)
    assert table.loc["007", "rain_48h"] == pytest.approx(12.7)
    assert table.loc["A-001", ["hole_depth", "hole_width"]].tolist() == pytest.approx([0.24, 0.12])
    assert table.loc["A-001", "rain_48h"] == pytest.approx(0.5)
    assert table.loc["A-002", "ponding_area"] == pytest.approx(9.290304)
    assert table.loc["A-002", "area_treated"] == pytest.approx(46.45152)
    assert np.isnan(table.loc["007", "x_m"])


def test_coordinates_become_working_metres(tmp_path):
    text = "lot,what,date,x,y\nA-001,visit,2026-05-02,1000,2000\n"
    row = read(tmp_path, text, unit_m=0.3048).iloc[0]
    assert (row["x_m"], row["y_m"]) == pytest.approx((304.8, 609.6))


def test_every_fault_is_told_at_once_with_near_ids(tmp_path):
    text = (
        "# made up\n"
        "lot,what,date,units,status,hole_depth,hole_width,fill_1_h,fill_1_end,x,stattus\n"
        "A-O01,visit,2026-05-02,,,,,,,,\n"
        "A-001,wisit,2026-05-02,,,,,,,,\n"
        "A-001,status,02/05/2026,,bilt,,,,,,\n"
        "A-001,test,2026-05-02,,,60,30,5,,,\n"
        "A-001,test,2026-05-02,metric,,60,30,5,70,,\n"
        "A-001,test,2026-05-02,metric,,600,30,-5,,4,\n"
        ",visit,2026-05-02,,,,,,,,\n"
        "A-001,built,2026-05-02,metric,,,,,,,\n"
    )
    with pytest.raises(BadInput) as error:
        read(tmp_path, text)
    told = str(error.value)
    for words in (
        "No lot 'A-O01' in the lots layer (file field.csv, layer field, feature row 3). Did you mean 'A-001'",
        "what is 'wisit'", "Did you mean 'visit'", "status is 'bilt'", "Did you mean 'built'", "date is '02/05/2026'",
        "hole_depth has no unit", "Filling 1 did not fall", "fill_1_h is '-5'", "hole_depth is 6.00 m",
        "One coordinate without the other", "No lot (file", "Unknown column 'stattus'",
        "A built row without area_treated",
    ):  # fmt: skip
        assert words in told, told
    assert "row 10" in told


def test_a_cell_that_is_not_understood_is_one_fault_not_two(tmp_path):
    with pytest.raises(BadInput) as told:
        read(tmp_path, "lot,what,date\nA-001,tset,2025-13-01\nA-002,,\n")
    assert [(fault.feature, fault.what) for fault in told.value.faults] == [
        ("row 2", "what is 'tset'"),
        ("row 2", "date is '2025-13-01'"),
        ("row 3", "The row does not say what it is"),
        ("row 3", "No date"),
    ]


def test_a_geopackage_layer_has_its_places(tmp_path):
    frame = gpd.GeoDataFrame(
        {"lot": ["A-001", "007"], "what": ["visit", "test"], "date": ["2026-05-03", "2026-05-01"],
         "units": ["", "metric"], "hole_depth": [np.nan, 60.0], "hole_width": [np.nan, 30.0], "fill_1_h": [np.nan, 9.0],
         "fill_2_h": [np.nan, 14.0]},
        geometry=[None, Point(500_000, 4_000_000)], crs=CRS_METRE,
    )  # fmt: skip
    frame.to_crs(4326).to_file(tmp_path / "field.gpkg", layer="spring")
    table = read_field_files([tmp_path / "field.gpkg"], LOTS, crs=CRS_METRE)
    assert table["lot_id"].tolist() == ["007", "A-001"]  # by date
    assert table.loc[0, "x_m"] == pytest.approx(500_000, abs=1e-3)
    assert table.loc[0, "hole_depth"] == pytest.approx(0.6)
    assert np.isnan(table.loc[1, "x_m"])


def test_semicolons_a_byte_order_mark_and_blank_lines_are_read(tmp_path):
    text = "\ufefflot;what;date;note\n\nA-001;visit;2026-05-02;dry, quiet\n;;;\n"
    table = read(tmp_path, text)
    assert table[["lot_id", "note", "row"]].values.tolist() == [["A-001", "dry, quiet", 3]]

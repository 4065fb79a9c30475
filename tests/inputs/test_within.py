import geopandas as gpd
import numpy as np
import pytest
from affine import Affine
from pyproj import CRS, Geod
from rasterio.windows import Window
from shapely.geometry import Point, Polygon, box

from screening.errors import BadInput
from screening.inputs import inspect_area, read_area
from screening.inputs.area_model import Within
from screening.inputs.findings import Findings
from screening.inputs.raster_file import cells_of
from screening.inputs.within import Part, read_part
from tests.inputs.made_up import BASE, NORTH, UTM, WEST, lots, plane, write_area, write_raster

LEFT = f'[within]\nbox = [{WEST + 5}, {NORTH - 40}, {WEST + 26}, {NORTH}]\ncrs = "{UTM}"\nmargin = 4\n'
"""A box around the first two of the three lots, 0010 and 9."""


def test_the_margin_is_of_true_metres_in_any_crs():
    part = Part(box(-147.0, 64.8, -146.9, 64.9), CRS("EPSG:4326"), 500.0, "a box")
    west, south, east, north = part.bounds_in(CRS("EPSG:4326"))
    geod = Geod(ellps="WGS84")
    for from_lon, from_lat, to_lon, to_lat in (
        (-147.0, 64.85, west, 64.85),
        (-146.9, 64.85, east, 64.85),
        (-146.95, 64.8, -146.95, south),
        (-146.95, 64.9, -146.95, north),
    ):
        _, _, away_m = geod.inv(from_lon, from_lat, to_lon, to_lat)
        # no less than the margin; a rectangle of another CRS only holds the box with some room
        assert 499.5 < away_m < 520.0
    feet = part.bounds_in(CRS("EPSG:3734"))
    assert feet[2] - feet[0] > (500 + 500 + 4700) / 0.3048


def test_in_its_own_metric_crs_the_margin_is_added_to_the_rectangle():
    part = Part(Polygon([(500_000, 0), (500_100, 0), (500_000, 80)]), CRS(UTM), 20.0, "a corner")
    assert part.bounds_in(CRS(UTM)) == pytest.approx((499_980, -20, 500_120, 100), abs=0.05)


def test_a_lot_belongs_where_its_inner_point_lies():
    shape = Polygon([(0, 0), (15, 0), (15, 40), (0, 40)])
    part = Part(shape, CRS(UTM), 0.0, "a box")
    table = gpd.GeoDataFrame(
        {"lot_id": [7.0, "08", "9", None]},
        geometry=[box(0, 0, 10, 10), box(6, 10, 20, 20), box(16, 0, 26, 10), box(30, 0, 40, 10)],
        crs=UTM,
    )
    inside, elsewhere = part.split(table)
    assert inside["lot_id"].tolist() == [7.0, "08"]
    assert elsewhere == {"9"}


@pytest.mark.parametrize(
    ("transform", "window"),
    [
        (Affine(2, 0, 100, 0, -2, 200), Window(5, 10, 6, 5)),  # x 111..121 is 5.5..10.5, y 171..179 is 10.5..14.5
        (Affine(2, 0, 100, 0, 2, 150), Window(5, 10, 6, 5)),  # rows run north
        (Affine(0, 2, 100, 2, 0, 150), Window(10, 5, 5, 6)),  # turned
    ],
)
def test_cells_that_meet_a_rectangle(transform, window):
    assert cells_of((111, 171, 121, 179), (40, 50), transform) == window


def test_cells_are_cut_at_the_raster_and_none_when_it_lies_elsewhere():
    onto = Affine(1, 0, 0, 0, -1, 10)
    assert cells_of((-5, 4.5, 3, 30), (10, 20), onto) == Window(0, 0, 3, 6)
    assert cells_of((20.5, 0, 30, 10), (10, 20), onto) is None


def test_only_the_part_is_screened_and_only_what_is_around_it_is_read(tmp_path):
    reading = inspect_area(write_area(tmp_path, LEFT))
    area = reading.result().area
    assert area.layers["lots"]["lot_id"].tolist() == ["0010", "9"]
    assert reading.elsewhere == {"0002"}
    # x 1 to 30 m and y as far as the raster goes; its outermost cells are met only in part
    grid = area.elevation
    assert grid.transform.c in (WEST, WEST + 1)
    assert grid.transform.f == NORTH
    assert grid.shape[0] == 40
    assert 28 <= grid.shape[1] <= 30
    first = round(grid.transform.c - WEST)
    np.testing.assert_array_equal(grid.values, plane()[:, first : first + grid.shape[1]])
    # the third roof begins 32 m to the east, 2 m beyond what is read
    assert len(area.layers["roofs"]) == 2
    told = [note.text for note in area.notes if note.layer == "within"]
    assert len(told) == 1
    assert "Only the lots inside the box are screened. Other layers are read 4 m around it" in told[0]


def test_tiles_that_lie_elsewhere_are_not_read(tmp_path):
    path = write_area(tmp_path, LEFT)
    values = plane()
    write_raster(tmp_path / "a.tif", values[:, :30])
    broken = values[:, 30:].copy()
    broken[:] = -9999  # would be a fault if it were read
    write_raster(tmp_path / "b.tif", broken, transform=Affine(1, 0, WEST + 30, 0, -1, NORTH))
    path.write_text(path.read_text().replace('"dtm.tif"', '["a.tif", "b.tif"]'))
    area = read_area(path).area
    assert {name for name in area.files if name.endswith(".tif")} == {"a.tif"}
    assert area.layers["lots"]["lot_id"].tolist() == ["0010", "9"]


def test_results_and_rules_of_lots_elsewhere_are_passed_over_and_those_of_none_are_faults(tmp_path):
    from screening.pipeline import read_area as completed

    more = LEFT + '[field]\nfile = "season.csv"\n[rules]\nby_lot = "own.csv"\n'
    path = write_area(tmp_path, more)
    season, own = tmp_path / "season.csv", tmp_path / "own.csv"
    season.write_text("lot,what,date,status\n0002,status,2026-05-01,refused\n9,status,2026-05-02,refused\n")
    own.write_text("lot_id,ponding_depth_mm\n0002,100\n9,120\n")
    read = completed(path)
    assert read.area.field_results["lot_id"].tolist() == ["9"]
    assert read.own_rules == {"9": {"ponding_depth_mm": 120}}
    own.write_text("lot_id,ponding_depth_mm\n0003,100\n")
    assert any("No lot has the id '0003'" in str(fault) for fault in inspect_area(path).faults)
    own.write_text("lot_id,ponding_depth_mm\n")
    season.write_text("lot,what,date,status\n0003,status,2026-05-01,refused\n")
    with pytest.raises(BadInput, match="No lot '0003'"):
        completed(path)


def write_parts(folder):
    """Two polygons called Uphill and Downhill, and a point."""
    shapes = [box(WEST + 5, NORTH - 40, WEST + 26, NORTH), box(WEST + 26, NORTH - 40, WEST + 50, NORTH), Point(0, 0)]
    names = ["Uphill", "Downhill", "Uphill"]
    gpd.GeoDataFrame({"called": names}, geometry=shapes, crs=UTM).to_crs("EPSG:4326").to_file(folder / "parts.geojson")


def test_polygons_of_a_file_chosen_by_a_column(tmp_path):
    write_parts(tmp_path)
    table = '[within]\nfile = "parts.geojson"\nmargin = 10\nmargin_unit = "ft"\n'
    both = inspect_area(write_area(tmp_path, table))
    assert len(both.layers["lots"]) == 3
    assert both.part.margin_m == pytest.approx(3.048)
    one = inspect_area(write_area(tmp_path, table + 'column = "called"\nvalues = "Downhill"\n'))
    assert one.layers["lots"]["lot_id"].tolist() == ["0002"]
    assert one.part.name == "Downhill"
    assert "parts.geojson" in one.hashes


def fault_of(tmp_path, keys):
    write_parts(tmp_path)
    path = write_area(tmp_path, f"[within]\n{keys}\n")
    return " ".join(str(fault) for fault in inspect_area(path).faults)


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ("margin = 5", "[within] has neither 'file' nor 'box'"),
        ('file = "parts.geojson"\nbox = [0, 0, 1, 1]', "[within] has both 'file' and 'box'"),
        ('file = "parts.geojson"\ncolumn = "called"', "column and values of [within] go together"),
        ("box = [1, 0, 0, 1]", "box in [within] has no area"),
        ("box = [0, 0, 1]", "Write four numbers: west, south, east, north"),
        ("box = [500000, 0, 500100, 100]", "The box is not in degrees"),
        ('box = [0, 0, 1, 1]\ncrs = "no such"', "crs = 'no such' is no CRS"),
        ('file = "parts.geojson"\ncolumn = "name"\nvalues = "Uphill"', "There is no column 'name'"),
        ('file = "parts.geojson"\ncolumn = "called"\nvalues = "Uphil"', "Did you mean 'Uphill'?"),
        ('box = [0, 0, 1, 1]\ncrs = "EPSG:4978"', "WGS 84 is no CRS of a map"),
        ('box = [0, 0, 1, 1]\ncrs = "EPSG:5703"', "NAVD88 height is no CRS of a map"),
        (
            "box = [-57.1, 0, -56.9, 0.1]",
            "No cell with a height lies in the part",
        ),  # where the raster's CRS has no place
        ('file = "nowhere.gpkg"', "There is no file 'nowhere.gpkg'"),
        ("box = [10, 10, 11, 11]", "No cell with a height lies in the part that [within] names"),
        (f'box = [{WEST + 41}, {NORTH - 9}, {WEST + 49}, {NORTH}]\ncrs = "{UTM}"', "No lots are left to screen"),
    ],
)
def test_faults(tmp_path, keys, told):
    assert told in fault_of(tmp_path, keys)


def test_the_whole_world_is_a_part(tmp_path):
    reading = inspect_area(write_area(tmp_path, "[within]\nbox = [-180, -90, 180, 90]\n"))
    assert reading.faults == ()
    assert len(reading.layers["lots"]) == 3


@pytest.mark.parametrize("after", ['vertical_unit = "m"', 'kind = "use"'])
def test_a_layer_s_wrong_crs_is_told_as_without_a_part(tmp_path, after):
    told = []
    for within in ("", LEFT):
        base = BASE.replace(after, f'{after}\ncrs = "nonsense"')
        told.append([str(fault) for fault in inspect_area(write_area(tmp_path, within, base=base)).faults])
    assert len(told[0]) == 1
    assert "crs = 'nonsense' is no CRS" in told[0][0]
    assert told[1] == told[0]


def test_points_and_lines_are_no_part(tmp_path):
    lots().set_geometry(lots().boundary).to_file(tmp_path / "lines.gpkg")
    findings, opened = Findings(), []
    assert read_part(Within(file=("lines.gpkg",)), tmp_path, findings, opened) is None
    assert "No polygon tells the part to screen" in str(findings.faults[0])

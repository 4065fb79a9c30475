import numpy as np
import pytest
import rasterio
from affine import Affine
from rasterio.enums import ColorInterp
from rasterio.warp import transform_bounds

from screening.background import OnlineTiles
from screening.inputs.check import check_area
from screening.inputs.reading import inspect_area, read_area
from tests.inputs.made_up import NORTH, UTM, WEST, write_area

TILES = '[background]\ntiles = "https://tiles.example.org/{z}/{x}/{y}.png?key=SECRET"\ntiles_credit = "Made up"\n'
PHOTO = '[background]\nphoto = "photo.tif"\n'


def write_photo(path, *, count=3, dtype="uint8", crs=UTM, west=WEST - 5, north=NORTH + 5, pixel=0.5, size=(120, 100)):
    light = np.full((count, size[1], size[0]), 90, dtype=dtype)
    profile = {"driver": "GTiff", "count": count, "height": size[1], "width": size[0], "dtype": dtype}
    with rasterio.open(path, "w", **profile, crs=crs, transform=Affine(pixel, 0, west, 0, -pixel, north)) as out:
        out.write(light)
    return path


def faults_of(folder, more):
    return inspect_area(write_area(folder, more)).faults


def test_without_the_table_there_is_no_background(tmp_path):
    reading = inspect_area(write_area(tmp_path))
    assert reading.faults == ()
    assert reading.background is None
    assert reading.result().area.background is None


def test_services_need_no_network_leave_and_are_not_asked(tmp_path):
    more = '[background]\nphoto_tiles = "http://air.example.com/{z}/{x}/{-y}"\nphoto_tiles_credit = "Fly"\n'
    area = read_area(write_area(tmp_path, more + "photo_tiles_deepest = 21\n")).area
    assert area.background.photo_tiles == OnlineTiles("http://air.example.com/{z}/{x}/{-y}", "Fly", 21)
    assert area.background.tiles is None
    assert set(area.files) == {"area.toml", "dtm.tif", "lots.gpkg", "roofs.geojson"}


def test_a_photo_is_looked_through_and_hashed(tmp_path):
    write_photo(tmp_path / "photo.tif")
    reading = inspect_area(write_area(tmp_path, PHOTO + 'photo_credit = "Made-up flyers"\n'))
    assert reading.faults == ()
    photo = reading.background.photo
    assert [file.name for file in photo.files] == ["photo.tif"]
    assert photo.credit == "Made-up flyers"
    assert "photo.tif" in reading.hashes
    assert not [note for note in reading.notes if note.layer == "background"]


def test_files_off_the_elevation_are_passed_over_and_the_share_covered_is_told(tmp_path):
    write_photo(tmp_path / "photo_1.tif", west=WEST + 25)  # the eastern half of 50 m
    write_photo(tmp_path / "photo_2.tif", west=WEST + 5000)
    reading = inspect_area(write_area(tmp_path, '[background]\nphoto = "photo_*.tif"\n'))
    assert reading.faults == ()
    assert [file.name for file in reading.background.photo.files] == ["photo_1.tif"]
    assert "photo_2.tif" not in reading.hashes
    assert [note.text for note in reading.notes if note.layer == "background"] == [
        "The air photo covers 50% of the elevation."
    ]


def test_a_photo_in_another_crs_is_found_on_the_elevation(tmp_path):
    west, _, _, north = transform_bounds(UTM, "EPSG:3857", WEST - 20, NORTH - 60, WEST + 70, NORTH + 20)
    write_photo(tmp_path / "photo.tif", crs="EPSG:3857", west=west, north=north, pixel=2)
    reading = inspect_area(write_area(tmp_path, PHOTO))
    assert reading.faults == ()
    assert "Mercator" in reading.background.photo.files[0].crs


@pytest.mark.parametrize(
    ("how", "what"),
    [
        ({"count": 2}, "The photo has 2 bands"),
        ({"count": 5}, "The photo has 5 bands"),
        ({"dtype": "float32"}, "The photo's values are float32"),
        ({"dtype": "int16"}, "The photo's values are int16"),
        ({"crs": None}, "The photo has no CRS"),
        ({"west": WEST + 5000}, "Nothing of the photo lies on the elevation"),
    ],
)
def test_a_photo_that_cannot_be_shown_is_a_fault(tmp_path, how, what):
    write_photo(tmp_path / "photo.tif", **how)
    (fault,) = faults_of(tmp_path, PHOTO)
    assert fault.what == what
    assert (fault.file, fault.layer) == ("photo.tif", "background")
    assert fault.mend


def test_a_crs_that_the_file_lacks_can_be_given(tmp_path):
    write_photo(tmp_path / "photo.tif", crs=None)
    assert faults_of(tmp_path, PHOTO + f'photo_crs = "{UTM}"\n') == ()
    (fault,) = faults_of(tmp_path, PHOTO + 'photo_crs = "EPSG:none"\n')
    assert fault.what == "photo_crs = 'EPSG:none' is no CRS"


def test_colour_tables_and_printing_colours_are_faults(tmp_path):
    with rasterio.open(write_photo(tmp_path / "photo.tif", count=1), "r+") as dataset:
        dataset.write_colormap(1, {0: (0, 0, 0, 255), 90: (9, 9, 9, 255)})
    with rasterio.open(write_photo(tmp_path / "other.tif", count=4), "r+") as dataset:
        dataset.colorinterp = [ColorInterp.cyan, ColorInterp.magenta, ColorInterp.yellow, ColorInterp.black]
    told = [fault.what for fault in faults_of(tmp_path, '[background]\nphoto = ["photo.tif", "other.tif"]\n')]
    assert told == ["The photo holds numbers of a colour table, not light", "The photo is in printing colours"]


def test_a_file_that_is_no_raster_is_a_fault(tmp_path):
    (tmp_path / "photo.tif").write_text("no raster")
    (fault,) = faults_of(tmp_path, PHOTO)
    assert fault.what == "The photo cannot be read"
    assert str(tmp_path) not in str(fault)
    (missing,) = faults_of(tmp_path, '[background]\nphoto = "none.tif"\n')
    assert "There is no file 'none.tif'" in missing.what


@pytest.mark.parametrize(
    ("table", "told"),
    [
        ("[background]\n", ["[background] has none of 'photo', 'tiles' and 'photo_tiles'"]),
        ('[background]\ntiles = "https://t.example.org/{z}/{x}/{y}"\n', ["tiles of [background] has no credit"]),
        (TILES.replace("Made up", " "), ["tiles of [background] has no credit"]),
        (
            '[background]\ntiles_deepest = 12\nphoto_crs = "EPSG:4326"\n',
            [
                "[background] has none of 'photo', 'tiles' and 'photo_tiles'",
                "[background] has photo_crs without photo",
                "[background] has tiles_deepest without tiles",
            ],
        ),
        (TILES + "tiles_deepest = 40\n", ["tiles_deepest in [background] cannot be 40"]),
        (TILES + 'tile = "x"\n', ["Unknown key 'tile' in [background]"]),
    ],
)
def test_faults_of_the_table(tmp_path, table, told):
    assert [fault.what for fault in faults_of(tmp_path, table)] == told


def test_a_wrong_address_is_told_once_and_never_shown(tmp_path):
    table = TILES.replace("https://", "https://someone:SECRET@")
    (fault,) = faults_of(tmp_path, table)
    assert fault.what == "tiles in [background] cannot be that"
    assert "user or password" in fault.mend
    assert "SECRET" not in str(fault)


def test_the_check_tells_of_backgrounds_without_a_key(tmp_path):
    write_photo(tmp_path / "photo.tif")
    report, faults = check_area(write_area(tmp_path, TILES + 'photo = "photo.tif"\n'))
    assert faults == ()
    text = "\n".join(report)
    assert "Background: the air photo photo.tif, put into the map's page" in text
    assert "Background: an online map from https://tiles.example.org, asked for once a reader switches it on" in text
    assert "the address in tiles carries a query" in text
    assert "SECRET" not in text

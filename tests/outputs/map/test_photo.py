from __future__ import annotations

import base64
import warnings
from pathlib import Path

import numpy as np
import pytest
import rasterio
from affine import Affine
from pyproj import Transformer
from rasterio.enums import ColorInterp, Resampling
from rasterio.errors import NotGeoreferencedWarning
from rasterio.io import MemoryFile

from screening.background import Photo
from screening.outputs.map import photo as photo_module
from screening.outputs.map.photo import photo_picture, stretch_of
from screening.outputs.map.relief import Picture
from screening.result import Screening
from tests.outputs.made_up_town import CRS_M
from tests.outputs.map.made_up_photo import bounds_of, photo_over, write_photo


def pixels(picture: Picture) -> np.ndarray:
    """Red, green, blue and how opaque, shape (rows, columns, 4)."""
    data = base64.b64decode(picture.url.removeprefix("data:image/webp;base64,"))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", NotGeoreferencedWarning)
        with MemoryFile(data) as file, file.open() as image:
            bands = image.read()
    opaque = np.full((1, *bands.shape[1:]), 255, dtype=np.uint8)
    return np.moveaxis(bands if len(bands) == 4 else np.concatenate([bands, opaque]), 0, 2)


def at(picture: Picture, x_m: float, y_m: float) -> tuple[int, int]:
    """Row and column of the picture that show a place of the working CRS, through latitude and longitude."""
    lon, lat = Transformer.from_crs(CRS_M, 4326, always_xy=True).transform(x_m, y_m)
    (south, west), (north, east) = picture.bounds
    rows, columns, _ = pixels(picture).shape
    stretched = [np.log(np.tan(np.pi / 4 + np.radians(one) / 2)) for one in (north, lat, south)]
    down = (stretched[0] - stretched[1]) / (stretched[0] - stretched[2])
    return int(down * rows), int((lon - west) / (east - west) * columns)


def over(result: Screening, folder: Path, bands: np.ndarray, **more: object) -> Photo:
    """A photo of 0.5 m pixels in the working CRS, its corner on that of the elevation."""
    west, _, _, north = bounds_of(result)
    return Photo(
        (write_photo(folder / "photo.tif", bands, Affine(0.5, 0, west, 0, -0.5, north), CRS_M.to_wkt(), **more),)
    )


def flat(result: Screening, count: int = 3, dtype: str = "uint8", value: int = 100) -> np.ndarray:
    west, south, east, north = bounds_of(result)
    return np.full((count, int(2 * (north - south)), int(2 * (east - west))), value, dtype=dtype)


def shown(photo: Photo, result: Screening) -> Picture:
    heights = result.rasters["heights_m"]
    picture = photo_picture(photo, heights, CRS_M, stretch_of(photo, heights, CRS_M))
    assert picture is not None
    return picture


def test_a_known_spot_lands_at_its_latitude_and_longitude(made_up: Screening, tmp_path: Path) -> None:
    photo = photo_over(made_up, tmp_path / "photo.tif")  # in the next zone's CRS, turned by some degrees
    west, south, east, north = bounds_of(made_up)
    x, y = west + 0.3 * (east - west), south + 0.8 * (north - south)
    with rasterio.open(photo.files[0].path, "r+") as dataset:
        place = Transformer.from_crs(CRS_M, dataset.crs.to_wkt(), always_xy=True).transform(x, y)
        row, column = dataset.index(*place)
        spot = np.array([250, 20, 20], dtype=np.uint8)[:, None, None] * np.ones((1, 13, 13), dtype=np.uint8)
        dataset.write(spot, window=rasterio.windows.Window(column - 6, row - 6, 13, 13))
    picture = shown(photo, made_up)
    image = pixels(picture).astype(int)
    red = np.argwhere((image[..., 0] > 180) & (image[..., 1] < 90))
    assert len(red) > 100
    assert np.abs(red.mean(axis=0) - at(picture, x, y)).max() < 1.5
    far = image[at(picture, x + 30, y)]
    assert abs(far[:3] - [60, 140, 70]).max() < 12
    assert image[..., 3].min() == 255


def test_bytes_are_taken_as_they_are_and_grey_is_grey(made_up: Screening, tmp_path: Path) -> None:
    light = flat(made_up, 1, value=37)
    image = pixels(shown(over(made_up, tmp_path, light), made_up))
    middle = image[image.shape[0] // 2, image.shape[1] // 2]
    assert middle[:3].tolist() == pytest.approx([37, 37, 37], abs=2)


def test_bands_go_by_what_the_file_says_of_them(made_up: Screening, tmp_path: Path) -> None:
    light = flat(made_up, 4)
    light[0], light[1], light[2], light[3] = 200, 30, 20, 240
    photo = over(made_up, tmp_path, light)
    with rasterio.open(photo.files[0].path, "r+") as dataset:
        dataset.colorinterp = [ColorInterp.blue, ColorInterp.green, ColorInterp.red, ColorInterp.undefined]
    image = pixels(shown(photo, made_up))
    assert image[image.shape[0] // 2, image.shape[1] // 2].tolist() == pytest.approx([20, 30, 200, 255], abs=12)


def test_a_fourth_band_that_says_what_is_clear_is_followed(made_up: Screening, tmp_path: Path) -> None:
    light = flat(made_up, 4)
    half = light.shape[2] // 2
    light[3, :, :half], light[3, :, half:] = 0, 255
    photo = over(made_up, tmp_path, light)
    with rasterio.open(photo.files[0].path, "r+") as dataset:
        dataset.colorinterp = [ColorInterp.red, ColorInterp.green, ColorInterp.blue, ColorInterp.alpha]
    alpha = pixels(shown(photo, made_up))[..., 3]
    rows, columns = alpha.shape
    assert alpha[rows // 2, columns // 4] == 0
    assert alpha[rows // 2, 3 * columns // 4] == 255


def test_pixels_without_a_value_are_clear_but_black_ground_is_not(made_up: Screening, tmp_path: Path) -> None:
    light = flat(made_up)
    light[0] = 0  # no red anywhere, and still a colour
    light[:, :, : light.shape[2] // 2] = 0
    image = pixels(shown(over(made_up, tmp_path, light, nodata=0), made_up))
    rows, columns, _ = image.shape
    assert image[rows // 2, columns // 4, 3] == 0
    assert image[rows // 2, 3 * columns // 4, 3] == 255


def test_sixteen_bits_are_stretched_between_the_first_and_last_hundredth(made_up: Screening, tmp_path: Path) -> None:
    light = flat(made_up, 3, "uint16")
    columns = light.shape[2]
    light[:] = np.linspace(1000, 9000, columns).astype(np.uint16)
    light[1] += 500
    photo = over(made_up, tmp_path, light)
    low, high = stretch_of(photo, made_up.rasters["heights_m"], CRS_M)
    # of three bands, two over 1000 to 9000 and one over 1500 to 9500, a hundredth
    # lies below 1000 + 0.01 * 8000 * 3/2 = 1120 and one above 9500 - 0.01 * 8000 * 3 = 9260
    assert low == pytest.approx(1120, abs=60)
    assert high == pytest.approx(9260, abs=60)
    picture = shown(photo, made_up)
    image = pixels(picture).astype(int)
    across = [image[image.shape[0] // 2, int(share * image.shape[1])] for share in (0.25, 0.5, 0.75)]
    for share, seen in zip((0.25, 0.5, 0.75), across, strict=True):
        value = 1000 + 8000 * share
        wanted = [255 * (value + more - low) / (high - low) for more in (0, 500, 0)]
        assert np.abs(seen[:3] - wanted).max() < 9
    assert stretch_of(photo_over(made_up, tmp_path / "bytes.tif"), made_up.rasters["heights_m"], CRS_M) is None


def test_where_files_overlap_the_first_lies_over_the_second_without_a_seam(made_up: Screening, tmp_path: Path) -> None:
    west, _, _, north = bounds_of(made_up)
    light = flat(made_up)
    half = light.shape[2] // 2
    one = write_photo(tmp_path / "1.tif", light[:, :, :half], Affine(0.5, 0, west, 0, -0.5, north), CRS_M.to_wkt())
    two = write_photo(
        tmp_path / "2.tif",
        light[:, :, : half + 20] + 100,
        Affine(0.5, 0, west + 0.5 * (half - 20), 0, -0.5, north),
        CRS_M.to_wkt(),
    )
    first, second = (pixels(shown(Photo(order), made_up)).astype(int) for order in ((one, two), (two, one)))
    rows, columns, _ = first.shape
    place = columns // 2 - 10
    assert first[rows // 2, place, 0] == pytest.approx(100, abs=6)
    assert second[rows // 2, place, 0] == pytest.approx(200, abs=6)
    assert first[rows // 2, 10:-10, 3].min() == 255


def test_a_large_photo_is_shown_coarser_and_read_from_its_overviews(
    made_up: Screening, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(photo_module, "LONGEST", 60)
    photo = over(made_up, tmp_path, flat(made_up))
    plain = shown(photo, made_up)
    assert max(pixels(plain).shape[:2]) == 60
    with rasterio.open(photo.files[0].path, "r+") as dataset:
        dataset.build_overviews([2, 4], Resampling.average)
        times = max(dataset.shape) / 60
    assert times > 4
    with rasterio.open(photo.files[0].path, "r+", overview_level=1) as dataset:
        marked = dataset.read()
        dataset.write(np.full_like(marked, 222))
    image = pixels(shown(photo, made_up))
    assert image[image.shape[0] // 2, image.shape[1] // 2, 0] == pytest.approx(222, abs=3)


def test_equal_photos_give_equal_pictures_no_finer_than_they_are(made_up: Screening, tmp_path: Path) -> None:
    photo = over(made_up, tmp_path, flat(made_up))
    picture = shown(photo, made_up)
    assert picture == shown(photo, made_up)
    rows, columns, _ = pixels(picture).shape
    assert abs(rows - flat(made_up).shape[1]) < 12
    assert abs(columns - flat(made_up).shape[2]) < 12


def test_a_photo_of_elsewhere_gives_no_picture(made_up: Screening, tmp_path: Path) -> None:
    west, _, _, north = bounds_of(made_up)
    far = write_photo(tmp_path / "p.tif", flat(made_up), Affine(0.5, 0, west + 9000, 0, -0.5, north), CRS_M.to_wkt())
    assert photo_picture(Photo((far,)), made_up.rasters["heights_m"], CRS_M) is None

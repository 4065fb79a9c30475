from __future__ import annotations

import numpy as np
import pytest
from pyproj import CRS, Transformer

from screening.outputs.map.world_fit import WORLD_M, WorldFit, fit_world, mercator_m

UTM = CRS.from_epsg(32626)


def _world(fit: WorldFit, x_m: np.ndarray, y_m: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    u, v = (x_m - fit.centre_m[0]) / fit.half_m, (y_m - fit.centre_m[1]) / fit.half_m
    powers = [(i, j) for i in range(fit.degree + 1) for j in range(fit.degree + 1 - i)]
    return tuple(sum(c * u**i * v**j for c, (i, j) in zip(terms, powers, strict=True)) for terms in (fit.x, fit.y))


@pytest.mark.parametrize(("side_m", "near_m"), [(300.0, 0.002), (5_000.0, 0.002), (80_000.0, 0.02)])
def test_points_lie_where_web_mercator_puts_them(side_m: float, near_m: float) -> None:
    # OGC two-dimensional tile matrix sets: 0 at 180 W and 85.06 N, 1 at 180 E and 85.06 S
    west, south = 560_000.0, 4_983_000.0
    fit = fit_world((west, south, west + side_m, south + side_m / 2), UTM, near_m)
    assert fit.worst_m <= near_m
    rng = np.random.default_rng(4)
    x, y = west + side_m * rng.random(500), south + side_m / 2 * rng.random(500)
    lon, lat = Transformer.from_crs(UTM, 4326, always_xy=True).transform(x, y)
    east, down = _world(fit, x, y)
    assert np.abs(east - (lon / 360 + 0.5)).max() * WORLD_M < 1.5 * near_m
    assert np.abs(down - (0.5 - np.arcsinh(np.tan(np.radians(lat))) / (2 * np.pi))).max() * WORLD_M < 1.5 * near_m


def test_mercator_itself_takes_a_plane() -> None:
    fit = fit_world((-8_000_000.0, 2_000_000.0, 9_000_000.0, 3_000_000.0), CRS.from_epsg(3857), 0.002)
    assert fit.degree == 1
    (left,), (top,) = _world(fit, np.array([-WORLD_M / 2]), np.array([WORLD_M / 2]))
    assert (left, top) == pytest.approx((0.0, 0.0), abs=1e-12)


def test_what_no_polynomial_places_is_told() -> None:
    assert fit_world((300_000.0, 0.0, 700_000.0, 9_300_000.0), UTM, 0.002).worst_m > 0.002


def test_one_point_has_a_place() -> None:
    fit = fit_world((500_000.4, 4_983_000.4, 500_000.4, 4_983_000.4), UTM, 0.002)
    assert fit.centre_m == (500_000.0, 4_983_000.0)
    east, down = _world(fit, np.array([500_000.4]), np.array([4_983_000.4]))
    x, y = mercator_m(np.array([[500_000.4, 4_983_000.4]]), UTM)[0]
    assert east[0] * WORLD_M - WORLD_M / 2 == pytest.approx(x, abs=0.002)
    assert WORLD_M / 2 - down[0] * WORLD_M == pytest.approx(y, abs=0.002)

"""What a practitioner would say of made-up lots: straight, turned, shifted, and on noisy ground."""

from __future__ import annotations

import zlib

import numpy as np
import pytest
import shapely

from tests.cases.more_sites import MORE_SITES
from tests.cases.run import right, run_site
from tests.cases.sites import SITES

BY_NAME = {site.name: site for site in (*SITES, *MORE_SITES)}


@pytest.mark.parametrize("name", BY_NAME)
def test_straight(name):
    assert right(BY_NAME[name], run_site(BY_NAME[name])) == []


@pytest.mark.parametrize("name", BY_NAME)
def test_turned_and_shifted(name):
    rng = np.random.default_rng(zlib.crc32(name.encode()))
    turn, shift = rng.uniform(0, 360), tuple(rng.uniform(-500, 500, 2))
    assert right(BY_NAME[name], run_site(BY_NAME[name], turn_deg=turn, shift_m=shift)) == [], (turn, shift)


@pytest.mark.parametrize("name", ["plain", "house at the low end", "slope 13%", "one downspout fits", "narrow lot"])
def test_noise_of_three_centimetres(name):
    rng = np.random.default_rng(zlib.crc32(name.encode()))
    for seed in range(2):
        turn, shift = rng.uniform(0, 360), tuple(rng.uniform(-500, 500, 2))
        found = run_site(BY_NAME[name], turn_deg=turn, shift_m=shift, noise_m=0.03, seed=seed)
        assert right(BY_NAME[name], found) == [], (turn, shift, seed)


def test_what_is_printed_of_the_plain_lot():
    row = run_site(BY_NAME["plain"]).tables["candidates"].query("chosen").iloc[0]
    assert row["draining_area_m2"] == pytest.approx(60.0)
    assert row["needed_m2"] == pytest.approx(8.02)
    assert row["fall_m"] == pytest.approx(0.19, abs=0.02)
    assert row["fall_needed_m"] == pytest.approx(0.14, abs=0.01)
    assert row["overflow_to"] == "street"
    assert row["lead"] == "surface"
    assert row["side"] == "front"


def test_room_of_the_one_that_fits():
    found = run_site(BY_NAME["one downspout fits"])
    row = found.tables["candidates"].query("chosen").iloc[0]
    assert row["capture_depth_mm"] == pytest.approx(38.0)
    assert 4.7 <= row["room_m2"] <= 7.05


def test_piped_roof_gains_more_than_one_over_a_wide_lawn():
    soaking = run_site(BY_NAME["already soaking"]).tables["candidates"].query("chosen").iloc[0]
    piped = run_site(BY_NAME["piped to the street"]).tables["candidates"].query("chosen").iloc[0]
    kept = [row["draining_area_m2"] * row["kept_share"] for row in (soaking, piped)]
    assert kept[1] == pytest.approx(60.0)
    assert kept[0] < 10.0


def test_garden_in_the_hollow_lot_keeps_out_of_the_hollow():
    found = run_site(BY_NAME["standing hollow"])
    candidates = found.tables["candidates"]
    wet = found.tables["candidates"].geometry.distance(shapely.Point(10, 33))
    assert (wet[candidates["chosen"]] > 2.0).all()


def test_slim_garden_where_only_a_slim_one_fits():
    row = run_site(BY_NAME["shallow front"]).tables["candidates"].query("chosen").iloc[0]
    assert row["aspect"] == 3.0


def test_lead_under_a_walk_is_a_shallow_pipe():
    row = run_site(BY_NAME["walk across the front"]).tables["candidates"].query("chosen").iloc[0]
    assert row["lead"] == "shallow"
    assert row["fall_needed_m"] > 0.2

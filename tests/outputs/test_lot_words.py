"""Everything about one lot in words: facts in the reader's units, places with what they are chosen by."""

import pandas as pd
import pytest

from screening.errors import BadInput
from screening.outputs.lot_words import lot_words
from screening.units import GALLON_M3, SQUARE_FOOT_M2


def first_lot(made_up):
    return made_up.first(1).iloc[0]


@pytest.mark.parametrize("units", ["metric", "us"])
def test_facts_stand_in_the_readers_units(made_up, units):
    lot = first_lot(made_up)
    told = lot_words(made_up.tables, lot["lot_id"], units)
    if units == "metric":
        assert f"  Lot: {lot['lot_area_m2']:,.1f} m²" in told
        assert f"  Shed in the storm: {lot['storm_runoff_m3']:,.2f} m³" in told
    else:
        assert f"  Lot: {lot['lot_area_m2'] / SQUARE_FOOT_M2:,.0f} sq ft" in told
        assert f"  Shed in the storm: {lot['storm_runoff_m3'] / GALLON_M3:,.0f} gal" in told
        assert "  Fall: 0.66 ft" in told
        assert any("fall 0.66 ft (0.46 ft needed)" in line for line in told)


def test_a_street_that_the_address_names_is_not_told_twice(made_up):
    lot = first_lot(made_up)
    assert lot["street"] in lot["address"]
    head = lot_words(made_up.tables, lot["lot_id"])[0]
    assert head.count(lot["street"]) == 1
    assert head.startswith(f"Lot {lot['lot_id']}: {lot['address']}")


def test_places_say_how_much_of_their_water_is_bound_for_the_drain(made_up):
    lot = first_lot(made_up)["lot_id"]
    places = made_up.tables["candidates"]
    mine = (places["lot_id"] == lot).to_numpy()
    share = pd.array([0.25 if own else pd.NA for own in mine], dtype="Float64")
    told = lot_words({**made_up.tables, "candidates": places.assign(kept_share=share)}, lot)
    assert f"Places kept: {mine.sum()}." in told
    assert sum(line.endswith(", 25% of its water now bound for the drain") for line in told) == mine.sum()
    unknown = "\n".join(lot_words({**made_up.tables, "candidates": places.assign(kept_share=pd.NA)}, lot))
    assert "bound for the drain" not in unknown


def test_a_lot_that_is_not_there_is_told_with_those_like_it(made_up):
    lot = first_lot(made_up)["lot_id"]
    with pytest.raises(BadInput, match=rf"Did you mean.*{lot}.*\?$"):
        lot_words(made_up.tables, f"{lot}x")


def test_codes_are_told_in_words_and_every_kind_of_lead(made_up):
    lot = first_lot(made_up)
    leads = made_up.tables["leads"].copy()
    first = ((leads["lot_id"] == lot["lot_id"]) & (leads["candidate"] == 0)).idxmax()
    leads.loc[first, "lead"] = "shallow"
    told = lot_words({**made_up.tables, "leads": leads}, lot["lot_id"])
    assert "  Leads: over the ground, shallow pipe" in told
    assert "  Longest lead: 9.2 m" in told
    assert "  Share of the lot with elevation: 100%" in told
    assert "  Depth of rain held: 38 mm" in told
    assert any("led at most 9.20 m over the ground and in a shallow pipe, overflow to street" in line for line in told)
    assert any("led 9.20 m over the ground, overflow to street" in line for line in told)
    assert "  Group known by: soil survey" in told
    assert lot["next_step"] == "level"
    assert "Next step: take levels." in told


def test_a_place_whose_side_is_not_known_is_told_without_it(made_up):
    lot = first_lot(made_up)["lot_id"]
    places = made_up.tables["candidates"].assign(side=pd.NA)
    told = lot_words({**made_up.tables, "candidates": places}, lot)
    assert any(line.startswith("  0 (the spot): ponding ") for line in told)
    assert "nan" not in "\n".join(told).lower().split()

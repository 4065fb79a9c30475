"""What a sheet is given: quantities of its own garden."""

import pytest

from screening.outputs.sheets.gather import gather


def test_a_garden_led_in_two_ways_has_pipe_for_the_one_and_swale_for_the_other(made_up):
    leads, places = made_up.tables["leads"], made_up.tables["candidates"]
    spots = places[places["chosen"].fillna(False).astype(bool)].set_index("lot_id")["candidate"]
    own = leads[leads["candidate"].eq(leads["lot_id"].map(spots)).fillna(False).to_numpy(dtype=bool)]
    lot = own["lot_id"].value_counts().index[0]
    mine = own.index[own["lot_id"] == lot]
    assert len(mine) >= 2
    changed = leads.copy()
    changed.loc[mine, "lead"] = ["buried", *["surface"] * (len(mine) - 1)]
    changed.loc[mine, "run_m"] = [6.5, *[2.0] * (len(mine) - 1)]
    result = type(made_up)(**{**vars(made_up), "tables": {**made_up.tables, "leads": changed}})
    bill = gather(result, [lot])[0][0].bill
    assert bill["pipe_m"] == pytest.approx(6.5)
    assert bill["swale_m"] == pytest.approx(2.0 * (len(mine) - 1))

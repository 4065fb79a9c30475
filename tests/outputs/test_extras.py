import pytest

from screening.errors import BadInput
from screening.outputs.extras import Extras, check_lots, sheets_wanted
from screening.outputs.sheets import sheet_lots
from screening.ranking.season_pick import Asked, season_pick


def test_sheets_are_for_the_first_visits_unless_told(made_up) -> None:
    assert sheets_wanted(made_up, Extras()) == sheet_lots(made_up)
    assert set(sheets_wanted(made_up, Extras(sheets_first=3))) == set(made_up.first(3)["lot_id"])
    assert sheets_wanted(made_up, Extras(sheets_first=0)) == []


def test_lots_named_get_a_sheet_whatever_their_verdict(made_up) -> None:
    out = made_up.lots.loc[made_up.lots["verdict"] == "ruled out", "lot_id"].iloc[0]
    assert sheets_wanted(made_up, Extras(sheets_for=(out, out))) == [out]
    first = sheets_wanted(made_up, Extras(sheets_first=2))
    assert sheets_wanted(made_up, Extras(sheets_first=2, sheets_for=(first[0], out))) == [*first, out]


def test_picked_lots_get_their_sheets(made_up) -> None:
    picked = season_pick(made_up.lots, made_up.rules, Asked()).lots["lot_id"].tolist()
    assert sheets_wanted(made_up, Extras(sheets_picked=True)) == picked


def test_lots_that_are_not_there_are_named(made_up) -> None:
    with pytest.raises(BadInput, match="There is no lot 'X9'"):
        check_lots(made_up.lots["lot_id"], ("L00001", "X9"))

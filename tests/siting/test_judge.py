import numpy as np
import pandas as pd
import pytest
from shapely import LineString, Point, box

from screening.ranking.verdict import verdicts
from screening.rules import Rules
from screening.siting import ground, judge, search
from screening.siting.lot_limits import least_width_m, taken_words
from screening.soils import candidate_soils
from tests.siting.lots import make_block, standard_lot

EVERYWHERE = ({"geometry": box(-300, -300, 600, 600), "hsg": "B"},)


def judged(rules=None, change=None, **arguments):
    arguments = {"plane": (0, 0.03), "soils": EVERYWHERE, "margin_m": 8.0, **standard_lot(), **arguments}
    block, context = make_block(rules=rules, **arguments)
    mask, tables = ground(block, context)
    block = block.with_tables(tables)
    block = block.with_tables(search(block, context, mask))
    block = block.with_tables(candidate_soils(block, context))
    if change:
        block = block.with_tables(
            {name: table.assign(**change[name]) for name, table in block.tables.items() if name in change}
        )
    return block.with_tables(judge(block, context)), context


def reasons(block, severity):
    table = block.tables["reasons"]
    return table[table["severity"] == severity].set_index("code")


def test_a_street_that_nothing_tells_is_said():
    """Without street lines, and a lot that does not say its street; with a street it fronts nothing is said."""
    lots, roofs = [box(0, 0, 20, 40)], [box(4, 12, 16, 22)]
    block, _ = judged(lots=lots, roofs=roofs, streets=())
    row = reasons(block, "note").loc["street_unknown"]
    assert (row["lot_id"], row["detail"]) == ("A", "it does not say, and no streets were given")
    street = [{"geometry": LineString([(-40, 0), (90, 0)]), "street": "Front Row"}]
    block, _ = judged(lots=lots, roofs=roofs, streets=street)
    assert "street_unknown" not in set(block.tables["reasons"]["code"])


def test_a_small_house_whose_gutters_may_fall_either_way_is_not_without_a_roof():
    """Four placed downspouts of 13.6 m2, each 0 to 27 m2: two of them led make 27 m2."""
    share = {"share_m2": 13.6, "share_low_m2": 0.0, "share_high_m2": 27.2, "placed": True}
    spouts = [{"geometry": Point(x, y), **share} for x, y in ((4, 12), (12, 12), (12, 19), (4, 19))]
    roofs = [box(4, 12, 12, 19)]
    block, _ = judged(roofs=roofs, downspouts=[{**spout, "worth_leading": True} for spout in spouts])
    spot = block.tables["candidates"].query("chosen").iloc[0]
    assert spot["draining_area_m2"] == 27.2
    assert reasons(block, "look closer").index.tolist() == []
    block, _ = judged(roofs=roofs, downspouts=[{**spout, "worth_leading": False} for spout in spouts])
    out = reasons(block, "rules out").loc["no_roof"]
    assert (out["measured"], out["limit"]) == (27.2, 15.0)


def test_the_plain_lot_has_only_notes():
    block, _ = judged()
    assert set(block.tables["reasons"]["severity"]) == {"note"}
    assert {"trees_unknown", "paving_unknown", "buried_unknown", "downspouts_placed"} == set(
        reasons(block, "note").index
    )
    assert block.tables["candidates"]["chosen"].sum() == 1
    placed = reasons(block, "note").loc["downspouts_placed"]
    assert (placed["measured"], placed["limit"]) == (4, 4)


def test_layers_that_were_given_are_not_unknown():
    block, _ = judged(trees=[], paved=[], buried=[])
    assert set(reasons(block, "note").index) == {"downspouts_placed"}


def test_a_ruled_out_lot_says_what_decided_and_what_takes_its_ground():
    block, _ = judged(plane=(0, -0.05), lots=[box(0, 0, 20, 40)], roofs=[box(4, 28, 16, 38)])
    out = reasons(block, "rules out")
    assert out.index.tolist() == ["fall"]
    assert out.loc["fall", "measured"] == pytest.approx(-0.21, abs=0.03)
    assert out.loc["fall", "limit"] == pytest.approx(0.13, abs=0.02)
    assert "above the ground" in out.loc["fall", "detail"]
    assert not (block.tables["reasons"]["severity"] == "look closer").any()
    assert "house" in reasons(block, "note").loc["taken", "detail"]
    assert not block.tables["candidates"]["chosen"].any()


def test_the_narrow_lot_tells_its_widest_ground_and_is_no_near_pass():
    block, _ = judged(plane=(0, 0.02), lots=[box(0, 0, 10, 30)], roofs=[box(1, 6, 9, 26)])
    out = reasons(block, "rules out").loc["no_room"]
    assert out["measured"] == pytest.approx(1.0, abs=0.05)
    assert out["limit"] == 3.0
    assert "2.0\N{NO-BREAK SPACE}m across" in out["detail"]
    assert "2.4\N{NO-BREAK SPACE}m" in out["detail"]
    assert not out["near"]


def test_a_strip_that_lacks_a_hand_is_a_near_pass():
    block, _ = judged(plane=(0, 0.02), lots=[box(0, 0, 10, 30)], roofs=[box(1, 6.3, 9, 26)])
    assert reasons(block, "rules out").loc["no_room", "near"]


def test_least_width_by_hand():
    assert least_width_m(Rules()) == pytest.approx(1.2 + 1.2)
    assert least_width_m(Rules(ponding_area_least_m2=6.0)) == pytest.approx(2 * np.sqrt(6 / (3 * np.pi)) + 1.2)


def test_a_lot_without_elevation_is_not_assessed():
    block, _ = judged(change={"lot_ground": {"assessed_share": 0.5}})
    assert reasons(block, "look closer").index.tolist() == ["partly_assessed"]
    arguments = {"roofs": [box(8, 14, 12, 19)]}
    block, _ = judged(change={"lot_ground": {"assessed_share": 0.0}}, **arguments)
    assert reasons(block, "rules out").index.tolist() == ["not_assessed"]


@pytest.mark.parametrize(
    ("further", "said"),
    [("B", "A, B"), (", ".join("BCDEFGHI"), "A, B, C, D, E, F and 3 more")],
    ids=["one", "many"],
)
def test_a_lot_names_those_stacked_on_its_place(further, said):
    block, _ = judged(lots=[{"geometry": box(0, 0, 20, 40), "lot_id": "A", "place": "A", "shared_with": further}])
    notes = block.tables["reasons"].query("code == 'stacked'")
    assert notes[["lot_id", "detail"]].to_numpy().tolist() == [["A", said]]


def test_the_reasons_make_the_verdict():
    block, _ = judged(plane=(0, 0.003))
    found = verdicts(block.lots["lot_id"], block.tables["reasons"])
    assert found["verdict"].tolist() == ["look closer"]
    assert found["deciding_limit"].tolist() == ["fall"]


def test_several_lots_each_have_their_own():
    lots = [box(0, 0, 20, 40), box(20, 0, 40, 40), box(40, 0, 60, 40)]
    roofs = [box(4, 12, 16, 22), box(28, 14, 32, 19)]
    block, _ = judged(lots=lots, roofs=roofs, streets=[LineString([(-40, 0), (90, 0)])])
    out = block.tables["reasons"].query("severity == 'rules out'")
    assert out[["lot_id", "code"]].values.tolist() == [["B", "no_roof"], ["C", "no_roof"]]
    assert block.tables["reasons"]["lot_id"].is_monotonic_increasing


def test_words_of_what_takes_the_ground():
    taken = pd.DataFrame(
        {
            "lot_id": ["A", "A", "A", "A"],
            "constraint": ["house", "paving", "well", "pool"],
            "area_m2": [10.0, 30.4, 20.0, 1.0],
            "alone_m2": 0.0,
        }
    )
    words = taken_words(taken, ["A"])
    assert words == {
        "A": "Its ground is taken by paving 30 m2; well 20 m2; house 10 m2.".replace(" m2", "\N{NO-BREAK SPACE}m2")
    }

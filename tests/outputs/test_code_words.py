"""Codes in words: every kind of lead is named once, from the surface down."""

import pandas as pd

from screening.outputs.code_words import lead_kinds, lead_ways


def test_leads_of_one_kind_are_named_once():
    assert lead_kinds(["shallow", "shallow"]) == "shallow pipe"
    assert lead_ways(["surface", "surface"]) == "over the ground"


def test_leads_of_several_kinds_are_all_named_from_the_surface_down():
    assert lead_kinds(["buried", "surface", "shallow"]) == "over the ground, shallow pipe, buried pipe"
    assert lead_ways(["shallow", "surface"]) == "over the ground and in a shallow pipe"


def test_what_is_missing_is_no_lead():
    assert lead_kinds([None, pd.NA]) == ""
    assert lead_ways([]) == ""

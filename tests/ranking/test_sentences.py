import pandas as pd

from screening.fields import REASONS
from screening.ranking.sentences import amount, amounts_apart, lot_reasons, sentence
from screening.units import in_detail


def test_amounts_in_both_units():
    assert amount(3.0, "m") == "3 m"
    assert amount(3.1, "m") == "3.10 m"
    assert amount(20.0, "mm") == "20 mm"
    assert amount(0.001, "m") == "0 m"
    assert amount(7.96, "m2") == "8 m²"
    assert amount(7.5, "m2") == "7.5 m²"
    assert amount(100.0, "") == "100"
    assert amount(3.048, "m", "us") == "10 ft"
    assert amount(38.1, "mm", "us") == "1.5 in"
    assert amount(9.290304, "m2", "us") == "100 sq ft"
    assert amount(0.5, "share") == "50%"
    assert amount(float("nan"), "m") == "unknown"
    assert amount(None, "m") == "unknown"


def test_sentence_names_measured_value_and_limit_and_keeps_braces_of_the_detail():
    text = sentence(REASONS["slope"], 17.94, 15.0, "%", "{limit} {{7*7}}")
    assert text == "Steep: 17.9% under the garden, the limit is 15%. {limit} {{7*7}}"


def test_a_value_just_off_its_limit_is_told_from_it():
    assert amounts_apart(2.97, 3.0, "m2") == ("2.97 m²", "3 m²")
    assert amounts_apart(2.997, 3.0, "m2") == ("2.997 m²", "3 m²")
    assert amounts_apart(3.0, 3.0, "m2") == ("3 m²", "3 m²")
    assert amounts_apart(2.5, 3.0, "m2") == ("2.5 m²", "3 m²")
    assert amounts_apart(0.4996, 0.5, "share") == ("49.96%", "50.00%")
    assert amounts_apart(2.97, 3.0, "m2", "us") == ("32 sq ft", "32.3 sq ft")
    assert amounts_apart(None, 3.0, "m") == ("unknown", "3 m")
    assert amounts_apart(2.99996, 3.0, "m") == ("3 m", "3 m")
    text = sentence(REASONS["no_room"], 2.97, 3.0, "m2", "")
    assert "the largest garden that fits has 2.97 m²" in text
    assert "the smallest allowed is 3 m²" in text


def test_amounts_of_a_detail_are_read_in_the_readers_units_and_what_is_quoted_stays():
    detail = (
        f"Its ground is taken by house {in_detail(272, 'm2', 0)}; Zone 20 m2; walk, {in_detail(2.8, 'm', 1)} across."
    )
    read = "Its ground is taken by house 272 m²; Zone 20 m2; walk, 2.8 m across."
    assert sentence(REASONS["taken"], None, None, "", detail) == read
    read = "Its ground is taken by house 2928 sq ft; Zone 20 m2; walk, 9.2 ft across."
    assert sentence(REASONS["taken"], None, None, "", detail, "us") == read


def test_heaviest_first_for_each_lot():
    rows = pd.DataFrame(
        {
            "lot_id": ["b", "b"],
            "code": ["trees_unknown", "fall"],
            "severity": ["note", "look closer"],
            "measured": [None, 0.02],
            "limit": [None, 0.14],
            "unit": [None, "m"],
            "detail": [None, None],
        }
    )
    texts = lot_reasons(pd.Series(["a", "b"]), rows)
    assert texts[0] == ""
    assert texts[1].startswith("Not enough fall: 0.02 m from the downspout to the lowest lip, 0.14 m needed.")
    assert texts[1].endswith("Trees unknown: neither a tree layer nor a surface raster was given.")

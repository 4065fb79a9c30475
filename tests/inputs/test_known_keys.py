from screening.inputs.known_keys import known_list, nearest


def test_the_nearest_word_is_named():
    assert nearest("vertical_units", ["vertical_unit", "file"]) == "vertical_unit"
    assert nearest("PARCELID", ["parcel_id", "geom"]) == "parcel_id"
    assert nearest("xyz", ["parcel_id", "geom"]) is None


def test_all_words_are_listed():
    assert known_list("rofs", ["lots", "roofs"]) == "Did you mean 'roofs'? Known: lots, roofs"
    assert known_list("zzz", []) == "Known: none"

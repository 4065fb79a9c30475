from screening.area import LAYER_COLUMNS
from screening.inputs.layer_keys import CHOICES, FLAGS, GEOMETRY, ID_COLUMNS, LENGTHS, column_keys


def test_keys_are_the_columns_without_unit_and_layer():
    assert column_keys("roofs") == {
        "id": "roof_id",
        "kind": "kind",
        "roof_kind": "roof_kind",
        "basement": "basement",
        "height": "height_m",
    }
    assert column_keys("trees") == {"trunk": "trunk_m", "crown": "crown_m"}
    assert column_keys("lots")["id"] == "lot_id"
    assert "place" not in column_keys("lots")


def test_everything_told_of_columns_names_columns_that_exist():
    known = {(layer, column) for layer, columns in LAYER_COLUMNS.items() for column in columns}
    assert set(ID_COLUMNS.items()) <= known
    assert set(CHOICES) <= known
    every = {column for _, column in known}
    assert every >= FLAGS | LENGTHS
    assert {column for column in every if column.endswith("_m")} == LENGTHS
    assert set(GEOMETRY) - {"soils"} <= set(LAYER_COLUMNS)

from screening.errors import BadInput, Fault, ScreeningError


def test_a_fault_says_what_where_and_how_to_mend_it():
    fault = Fault("Two lots have the id '7'", "Give each lot an id of its own", "lots.gpkg", "parcels", "7")
    assert str(fault) == (
        "Two lots have the id '7' (file lots.gpkg, layer parcels, feature 7). Give each lot an id of its own."
    )
    assert str(Fault("No lots")) == "No lots."
    assert str(Fault("No lot '8'", "Did you mean '7'?")) == "No lot '8'. Did you mean '7'?"


def test_bad_input_holds_every_fault():
    error = BadInput([Fault("One"), Fault("Two")])
    assert [fault.what for fault in error.faults] == ["One", "Two"]
    assert str(error) == "One.\nTwo."
    assert isinstance(error, ScreeningError)

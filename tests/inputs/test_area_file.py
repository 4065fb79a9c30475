import pytest

from screening.area import FOUND_COLUMNS, LAYER_COLUMNS
from screening.inputs.area_file import parse_area_file
from screening.inputs.area_model import LAYER_MODELS, TABLE_MODELS
from screening.inputs.findings import Findings
from screening.units import FOOT_M

NEEDED = """
[elevation]
file = "dtm.tif"
[lots]
file = ["north.gpkg", "south*.gpkg"]
id = "parcel"
[roofs]
file = "roofs.geojson"
"""


def parse(tmp_path, text):
    path = tmp_path / "area.toml"
    path.write_text(text, encoding="utf-8")
    findings = Findings()
    return parse_area_file(path, findings), findings


def test_the_smallest_area_file(tmp_path):
    area, findings = parse(tmp_path, 'title = "Two streets"' + NEEDED)
    assert findings.faults == []
    assert area.title == "Two streets"
    assert area.elevation.file == ("dtm.tif",)
    assert area.layers["lots"].file == ("north.gpkg", "south*.gpkg")
    assert dict(area.layers["lots"].columns) == {"lot_id": "parcel"}
    assert area.folder == tmp_path
    assert not area.allow_urls
    assert area.written == {"title", "elevation", "lots", "roofs"}


def test_without_a_title_the_file_names_the_area(tmp_path):
    area, _ = parse(tmp_path, NEEDED)
    assert area.title == "area"


def test_every_fault_is_told_at_once_with_the_nearest_key(tmp_path):
    text = """
titel = "x"
allow_urls = "yes"
[elevation]
file = "dtm.tif"
vertical_units = "m"
[lots]
file = "lots.gpkg"
idd = "parcel"
[trees]
file = "trees.gpkg"
crown = "c"
crown_unit = "furlong"
trunk = 3
"""
    area, findings = parse(tmp_path, text)
    told = [str(fault) for fault in findings.faults]
    assert len(told) == 7
    assert any("'titel'" in one and "'title'" in one for one in told)
    assert any("allow_urls must be true or false, got 'yes'" in one for one in told)
    assert any("'vertical_units'" in one and "Did you mean 'vertical_unit'?" in one for one in told)
    assert any("'idd'" in one and "Did you mean 'id'?" in one for one in told)
    assert any("no [roofs] table" in one for one in told)
    assert any("'furlong'" in one and "us-ft" in one for one in told)
    assert any("trunk in [trees] cannot be 3" in one for one in told)
    # What can be used still is, so that its own faults are found too.
    assert dict(area.layers["trees"].columns) == {"crown_m": "c"}
    assert area.layers["trees"].factors["crown_m"] == 1.0


def test_units_become_factors_and_words_keep_their_meaning(tmp_path):
    area, findings = parse(
        tmp_path,
        NEEDED
        + """
kind = "USE"
height = "H"
height_unit = "ft"
[roofs.kind_values]
RES = "house"
""",
    )
    assert findings.faults == []
    roofs = area.layers["roofs"]
    assert roofs.factors["height_m"] == FOOT_M
    assert roofs.columns == {"kind": "USE", "height_m": "H"}
    assert roofs.values["kind"] == {"RES": "house"}


def test_a_word_may_only_mean_what_is_known(tmp_path):
    _, findings = parse(tmp_path, NEEDED + '[roofs.kind_values]\nRES = "home"\n')
    assert "'home'" in str(findings.faults[0])
    assert "'house'" in findings.faults[0].mend


def test_an_avoided_kind_has_its_height_and_effect(tmp_path):
    area, findings = parse(tmp_path, NEEDED + '[avoid]\nfile = "a.gpkg"\nheight = "h"\neffect = "e"\nname = "n"\n')
    assert findings.faults == []
    assert area.layers["avoid"].columns == {"name": "n", "height_m": "h", "effect": "e"}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("title = ", "is not TOML"),
        ('elevation = "dtm.tif"\n', "elevation must be a table"),
        (NEEDED + "[soils]\ngroup = 'g'\n", "neither 'file' nor 'export'"),
        (NEEDED + "[trees]\ncrown = 'c'\n", "[trees] has no 'file'"),
        (NEEDED + "[trees]\nfile = []\n", "file in [trees] cannot be []"),
        ("rules = 3\n" + NEEDED, "rules must be a table"),
        (NEEDED + "[rainfall]\nfile = 'r.csv'\nunit = 'cubit'\n", "unit in [rainfall] cannot be 'cubit'"),
        (NEEDED + "[rainfall]\nfile = 'r.csv'\nstep = 'week'\n", "Known steps: hour, day"),
        (NEEDED + "[rainfall]\nunit = 'mm'\n", "neither 'file' nor 'frequency'"),
        (
            NEEDED + "[rainfall]\nfile = 'r.csv'\nstorm_percentile = 101\n",
            "storm_percentile in [rainfall] cannot be 101",
        ),
        (NEEDED + "[rainfall]\nfrequency = 'f.csv'\n", "frequency and storm_years go together"),
        (NEEDED + "[rainfall]\nfile = 'r.csv'\nstorm_years = 2\n", "frequency and storm_years go together"),
        (NEEDED + "[rainfall]\nfrequency = 'f.csv'\nstorm_years = 2\nstorm_percentile = 90\n", "needs a record"),
        (
            NEEDED + "[rainfall]\nfile = 'r.csv'\nstorm_percentile = 90\n[rules]\nstorm_depth_in = 1.5\n",
            "said more than once",
        ),
    ],
)
def test_what_cannot_be_understood(tmp_path, text, said):
    _, findings = parse(tmp_path, text)
    assert any(said in str(fault) for fault in findings.faults), [str(fault) for fault in findings.faults]


def test_a_missing_file_and_odd_bytes(tmp_path):
    findings = Findings()
    assert parse_area_file(tmp_path / "none.toml", findings) is None
    assert "There is no such file" in str(findings.faults[0])
    (tmp_path / "latin.toml").write_bytes('title = "Höhe"'.encode("latin-1"))
    assert parse_area_file(tmp_path / "latin.toml", findings) is None
    assert "Save it as UTF-8" in str(findings.faults[1])


def test_every_layer_has_a_table_and_every_column_a_key():
    assert set(LAYER_MODELS) == set(LAYER_COLUMNS)
    for layer, model in LAYER_MODELS.items():
        said = " ".join(str(field.description) for field in model.model_fields.values())
        for column in LAYER_COLUMNS[layer]:
            assert column in FOUND_COLUMNS or f"column of {column}" in said
    assert all(field.description for model in TABLE_MODELS.values() for field in model.model_fields.values())

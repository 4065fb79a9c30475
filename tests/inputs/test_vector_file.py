import json
import shutil
import zipfile

import geopandas as gpd
import pytest
import shapely
from shapely.geometry import Point

from screening.inputs.findings import Findings
from screening.inputs.vector_file import Wanted, read_vector
from tests.inputs.made_up import UTM, lots


def read(path, columns=None, **said):
    findings = Findings()
    wanted = Wanted("lots", columns or {"lot_id": "parcel"}, said.pop("defaults", ()), **said)
    return read_vector(str(path), path.name, wanted, findings), findings


@pytest.mark.parametrize("ending", ["gpkg", "geojson", "shp", "fgb", "parquet"])
def test_every_usual_format_reads_alike(tmp_path, ending):
    path = tmp_path / f"lots.{ending}"
    if ending == "parquet":
        lots().to_parquet(path)
    else:
        lots("EPSG:4326" if ending == "geojson" else UTM).to_file(path)
    frame, findings = read(path, {"lot_id": "parcel", "street": "road"})
    assert findings.faults == []
    by_id = frame.set_index("lot_id")
    assert sorted(by_id.index) == ["0002", "0010", "9"]
    assert by_id.loc["9", "street"] == "Elm"
    assert list(frame.columns) == ["lot_id", "street", "geometry"]
    assert frame.to_crs(UTM).area.round(3).tolist() == [200.0] * 3


def test_a_zip_of_a_shapefile_and_of_several_files(tmp_path):
    for name in ("lots", "parks"):
        (tmp_path / name).mkdir()
        lots().to_file(tmp_path / name / f"{name}.shp")
    with zipfile.ZipFile(tmp_path / "one.zip", "w") as archive:
        for part in (tmp_path / "lots").iterdir():
            archive.write(part, f"inner/{part.name}")
    frame, findings = read(tmp_path / "one.zip")
    assert findings.faults == []
    assert len(frame) == 3
    shutil.copy(tmp_path / "one.zip", tmp_path / "two.zip")
    with zipfile.ZipFile(tmp_path / "two.zip", "a") as archive:
        for part in (tmp_path / "parks").iterdir():
            archive.write(part, part.name)
    nothing, findings = read(tmp_path / "two.zip", layer="lot")
    assert nothing is None
    assert "Did you mean 'lots'? Known: lots, parks" in findings.faults[0].mend
    frame, findings = read(tmp_path / "two.zip", layer="lots")
    assert len(frame) == 3


def test_a_wrong_layer_prints_those_that_exist(tmp_path):
    path = tmp_path / "all.gpkg"
    lots().to_file(path, layer="parcels")
    frame, findings = read(path)
    assert len(frame) == 3
    lots().to_file(path, layer="roads")
    for layer, said in ((None, "The file has several layers"), ("parcel", "There is no layer 'parcel'")):
        nothing, findings = read(path, layer=layer)
        assert nothing is None
        assert findings.faults[0].what == said
        assert "Known: parcels, roads" in findings.faults[0].mend
    lots().to_file(path, layer="lots")
    assert read(path)[0] is not None


def test_a_wrong_column_prints_those_that_exist(tmp_path):
    path = tmp_path / "lots.gpkg"
    lots().to_file(path)
    nothing, findings = read(path, {"lot_id": "PARCEL", "street": "rode"})
    assert nothing is None
    told = [str(fault) for fault in findings.faults]
    assert "There is no column 'PARCEL' (for lot_id)" in told[0]
    assert "Did you mean 'parcel'? Known: parcel, road" in told[0]
    assert "Did you mean 'road'?" in told[1]


def test_a_column_of_our_name_is_read_unasked(tmp_path):
    path = tmp_path / "lots.gpkg"
    lots().rename(columns={"road": "street"}).to_file(path)
    frame, _ = read(path, defaults=("lot_id", "street", "zone"))
    assert list(frame.columns) == ["street", "lot_id", "geometry"]


def test_the_feature_number_serves_as_id(tmp_path):
    path = tmp_path / "lots.gpkg"
    lots().to_file(path)
    frame, findings = read(path, {"lot_id": "fid", "street": "road"})
    assert findings.faults == []
    assert frame["lot_id"].tolist() == [1, 2, 3]


def test_a_missing_crs_is_a_fault_that_crs_mends(tmp_path):
    path = tmp_path / "lots.shp"
    lots().to_file(path)
    (tmp_path / "lots.prj").unlink()
    nothing, findings = read(path)
    assert nothing is None
    assert findings.faults[0].mend == 'Add crs = "EPSG:..." to [lots]'
    frame, findings = read(path, crs=UTM)
    assert findings.faults == []
    assert frame.crs == UTM
    assert "is no CRS" in read(path, crs="EPSG:0")[1].faults[0].what


def test_a_crs_that_contradicts_the_file_is_followed_and_told(tmp_path):
    path = tmp_path / "lots.gpkg"
    lots().to_file(path)
    frame, findings = read(path, crs="EPSG:32607")
    assert frame.crs == "EPSG:32607"
    assert "the area file's crs is followed" in findings.notes[0].text


def test_curves_become_chords(tmp_path):
    path = tmp_path / "lots.csv"
    text = 'parcel,WKT\na,"CURVEPOLYGON (CIRCULARSTRING (0 0, 4 4, 8 0, 4 -4, 0 0))"\n'
    path.write_text(text)
    frame, findings = read(path, crs=UTM)
    assert findings.faults == []
    assert frame.geom_type.tolist() == ["Polygon"]
    assert frame.area[0] == pytest.approx(16 * 3.14159265, rel=1e-3)


def test_a_ring_of_no_extent_is_read_for_repair_to_tell(tmp_path):
    path = tmp_path / "lots.geojson"
    features = [
        {
            "type": "Feature",
            "properties": {"parcel": name},
            "geometry": {"type": "Polygon", "coordinates": [ring]},
        }
        for name, ring in (("a", [[0, 0], [1, 0], [0, 0]]), ("b", [[0, 0], [1, 0], [1, 1], [0, 0]]))
    ]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    frame, findings = read(path)
    assert findings.faults == []
    assert shapely.area(frame.geometry.array).tolist() == [0.0, 0.5]


def test_what_is_no_vector_file_is_told(tmp_path):
    (tmp_path / "x.gpkg").write_text("nothing")
    (tmp_path / "x.zip").write_text("nothing")
    (tmp_path / "table.csv").write_text("parcel,b\n1,2\n")
    for name in ("x.gpkg", "x.zip", "table.csv"):
        nothing, findings = read(tmp_path / name)
        assert nothing is None
        assert findings.faults[0].file == name
        assert str(tmp_path) not in str(findings.faults[0])


def test_parquet_without_geometry_is_told(tmp_path):
    lots().drop(columns="geometry").to_parquet(tmp_path / "t.parquet")
    nothing, findings = read(tmp_path / "t.parquet")
    assert nothing is None
    assert "cannot be read" in findings.faults[0].what


def test_latin_text_with_its_encoding(tmp_path):
    frame = gpd.GeoDataFrame({"parcel": ["Grünweg"]}, geometry=[Point(0, 0)], crs=UTM)
    frame.to_file(tmp_path / "lots.shp", encoding="ISO-8859-1")
    (tmp_path / "lots.cpg").unlink()
    assert read(tmp_path / "lots.shp", encoding="ISO-8859-1")[0]["lot_id"].tolist() == ["Grünweg"]

import hashlib
import zipfile

from screening.inputs.file_paths import find_files, hash_files, is_remote, members_of_zip, shown_path
from screening.inputs.findings import Findings


def test_globs_come_in_order_and_doubles_once(tmp_path):
    for name in ("b.tif", "a.tif", "c.txt"):
        (tmp_path / name).write_text(name)
    findings = Findings()
    found = find_files(["b.tif", "*.tif"], tmp_path, findings, layer="elevation")
    assert [path.rsplit("/", 1)[-1] for path in found] == ["b.tif", "a.tif"]
    assert find_files([str(tmp_path / "*.txt")], tmp_path, findings, layer="x") == [str(tmp_path / "c.txt")]
    assert findings.faults == []


def test_what_is_not_there_is_told_with_what_is(tmp_path):
    (tmp_path / "lots.gpkg").write_text("")
    findings = Findings()
    assert find_files(["lot.gpkg", "no/x.gpkg", "*.shp"], tmp_path, findings, layer="lots") == []
    told = [str(fault) for fault in findings.faults]
    assert "There is no file 'lot.gpkg'" in told[0]
    assert "lots.gpkg" in told[0]
    assert "There is no folder 'no'" in told[1]
    assert "No file matches '*.shp'" in told[2]


def test_the_network_only_when_allowed(tmp_path):
    findings = Findings()
    url = "https://example.org/lots.gpkg?key=secret"
    assert find_files([url], tmp_path, findings, layer="lots") == []
    assert "allow_urls = true" in str(findings.faults[0])
    assert "secret" not in str(findings.faults[0])
    assert find_files([url], tmp_path, findings, layer="lots", allow_urls=True) == [url]
    assert is_remote("PG:dbname=x")
    assert not is_remote("folder/lots.gpkg")
    assert shown_path("PG:dbname=x password=y", tmp_path) == "PG:..."


def test_hashes_are_by_relative_path_and_hold_all_parts(tmp_path):
    (tmp_path / "in").mkdir()
    for name in ("lots.shp", "lots.dbf", "lots.prj", "other.dbf"):
        (tmp_path / "in" / name).write_text(name)
    hashes = hash_files([str(tmp_path / "in" / "lots.shp")], tmp_path)
    assert list(hashes) == ["in/lots.dbf", "in/lots.prj", "in/lots.shp"]
    assert hashes["in/lots.prj"] == hashlib.sha256(b"lots.prj").hexdigest()
    assert set(hash_files([str(tmp_path / "in")], tmp_path)) == {
        "in/lots.shp",
        "in/lots.dbf",
        "in/lots.prj",
        "in/other.dbf",
    }
    assert shown_path(str(tmp_path / "dtm.tif"), tmp_path / "in") == "../dtm.tif"


def test_what_lies_in_a_zip_is_hashed_by_its_zip(tmp_path):
    with zipfile.ZipFile(tmp_path / "d.zip", "w") as archive:
        for name in ("b/two.tif", "one.TIF", "notes.txt"):
            archive.writestr(name, "x")
    inside = members_of_zip(str(tmp_path / "d.zip"), (".tif",))
    assert [path.rsplit("d.zip/", 1)[1] for path in inside] == ["b/two.tif", "one.TIF"]
    assert not is_remote(inside[0])
    assert is_remote("/vsicurl/https://example.org/d.zip")
    expected = hashlib.sha256((tmp_path / "d.zip").read_bytes()).hexdigest()
    assert hash_files(inside, tmp_path) == {"d.zip": expected}

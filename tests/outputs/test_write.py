from __future__ import annotations

from pathlib import Path

import pytest

from screening.outputs.write import write_text, written_aside


def test_files_move_to_their_place_when_all_are_written(tmp_path: Path) -> None:
    with written_aside(tmp_path / "out") as aside:
        write_text(aside / "a.txt", "1\n")
        (aside / "deep").mkdir()
        write_text(aside / "deep" / "b.txt", "2\n")
        assert not (tmp_path / "out" / "a.txt").exists()
    assert sorted(str(p.relative_to(tmp_path)) for p in tmp_path.rglob("*") if p.is_file()) == [
        "out/a.txt",
        "out/deep/b.txt",
    ]


def _fail_half_way(folder: Path, earlier: tuple[str, ...] = ()) -> None:
    with written_aside(folder, earlier) as aside:
        write_text(aside / "a.txt", "new\n")
        raise RuntimeError("half way")


def test_a_failure_leaves_what_was_there(tmp_path: Path) -> None:
    write_text(tmp_path / "a.txt", "old\n")
    with pytest.raises(RuntimeError, match="half way"):
        _fail_half_way(tmp_path)
    assert (tmp_path / "a.txt").read_text() == "old\n"
    assert [p.name for p in tmp_path.iterdir()] == ["a.txt"]


def test_what_an_earlier_run_alone_wrote_goes(tmp_path: Path) -> None:
    for name in ("pages/1.html", "pages/2.html", "pages/own.txt", "more/1.html", "notes.html"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        write_text(tmp_path / name, "old\n")
    with written_aside(tmp_path, ("pages/*.html", "more/*.html", "none/*.html")) as aside:
        (aside / "pages").mkdir()
        write_text(aside / "pages" / "1.html", "new\n")
        assert (tmp_path / "pages" / "2.html").exists()
    left = {str(p.relative_to(tmp_path)): p.read_text() for p in tmp_path.rglob("*") if p.is_file()}
    assert left == {"pages/1.html": "new\n", "pages/own.txt": "old\n", "notes.html": "old\n"}
    assert not (tmp_path / "more").exists()


def test_a_failure_removes_nothing(tmp_path: Path) -> None:
    write_text(tmp_path / "b.txt", "old\n")
    with pytest.raises(RuntimeError, match="half way"):
        _fail_half_way(tmp_path, ("*.txt",))
    assert (tmp_path / "b.txt").read_text() == "old\n"


def test_text_is_utf8_with_lf(tmp_path: Path) -> None:
    assert write_text(tmp_path / "a.txt", "é\n").read_bytes() == b"\xc3\xa9\n"

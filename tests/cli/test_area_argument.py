import pytest

from screening.cli import main

COMMANDS = (("check",), ("run", "--out", "results"), ("field",))


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command[0])
def test_a_folder_stands_for_its_area_file(command, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    folder = tmp_path / "town"
    folder.mkdir()
    (folder / "area.toml").write_text('[elevatoin]\nfile = "dtm.tif"\n')
    told = []
    for area in (folder, folder / "area.toml"):
        with pytest.raises(SystemExit) as caught:
            main([*command, str(area)])
        assert caught.value.code == 3
        told.append(capsys.readouterr().err)
    assert "elevatoin" in told[0]
    assert told[0] == told[1]


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command[0])
def test_a_folder_without_an_area_file_is_told_in_one_sentence(command, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "town.toml").write_text('title = "Town"\n')
    with pytest.raises(SystemExit) as caught:
        main([*command, str(tmp_path)])
    assert caught.value.code == 3
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 1
    assert lines[0].startswith("error: ")
    assert "The folder holds no area.toml" in lines[0]
    assert "Name the area file itself" in lines[0]


def test_a_folder_called_as_the_file_is_none(tmp_path, capsys):
    (tmp_path / "area.toml").mkdir()
    with pytest.raises(SystemExit) as caught:
        main(["check", str(tmp_path)])
    assert caught.value.code == 3
    assert "The folder holds no area.toml" in capsys.readouterr().err

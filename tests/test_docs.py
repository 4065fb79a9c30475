"""The docs name commands that exist, files that are there, and code that runs."""

import re
from pathlib import Path

import pytest

from screening.cli import screening

ROOT = Path(__file__).parent.parent
PAGES = sorted([ROOT / "README.md", ROOT / "DEVELOPERS.md", *(ROOT / "screening" / "guide").glob("*.md")])
EVERYTHING = "\n".join(page.read_text(encoding="utf-8") for page in PAGES)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_and_pictures_lead_somewhere(page):
    text = page.read_text(encoding="utf-8")
    for target in re.findall(r"\]\(([^)#]+)\)", text):
        if "://" not in target:
            assert (page.parent / target).exists(), target


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_commands_named_in_the_docs_exist(page):
    for command in re.findall(r"^ {4}screening ([a-z]+)", page.read_text(encoding="utf-8"), re.MULTILINE):
        assert command in screening.commands, command


def test_every_command_is_in_the_docs():
    for command in screening.commands:
        assert f"screening {command}" in EVERYTHING, command


def test_scripts_named_in_the_docs_exist():
    for script in set(re.findall(r"scripts/[a-z_]+\.(?:py|txt)", EVERYTHING)):
        assert (ROOT / script).exists(), script


def test_the_readme_opens_with_the_job_in_one_paragraph_and_shows_the_cautions():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    first = text.split("\n\n")[1]
    for word in ("roof", "storm", "slope", "soil", "ranks", "street"):
        assert word in first
    assert "utilities located before any digging" in " ".join(text.split())
    assert "local code" in text


def test_the_five_lines_of_the_readme_run(tmp_path, monkeypatch):
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    code = text.split("## From Python")[1].split("## ")[0]
    lines = [line[4:] for line in code.split("\n") if line.startswith("    ")]
    assert len([line for line in lines if line]) <= 6
    monkeypatch.chdir(tmp_path)
    (tmp_path / "demo_area").symlink_to(ROOT / "demo_area")
    exec("\n".join(lines).replace("print(", "str("), {})
    assert (tmp_path / "results" / "map.html").exists()

"""A real site is founded at the console, and people are let in one by one."""

from __future__ import annotations

from pathlib import Path

import pytest

from app.settings import data_folder
from tests.cli.conftest import Errand

SITE = data_folder("procedures") / "site.toml"


def test_a_site_is_founded_with_its_keeper_and_lets_others_in(
    errand: Errand, tmp_path: Path
) -> None:
    folder = tmp_path / "site"

    told = errand("found", SITE, "MD", "Mirela Dumbravan", "--generate", "--folder", folder)

    assert told.code == 0, told.complained
    assert told.said[0].endswith("and MD keeps its register.")
    assert len(told.said[1].rpartition(": ")[2]) == 64
    added = errand(
        "people", "add", "NA", "Nkechi Adeyaro", "lead", "--generate", "--folder", folder
    )
    assert added.code == 0
    assert "MD    Mirela Dumbravan: keeper" in errand("people", "list", "--folder", folder).said


def test_a_site_is_not_founded_over_another(errand: Errand, demo_site: Path) -> None:
    told = errand("found", SITE, "MD", "Mirela Dumbravan", "--generate", "--folder", demo_site)

    assert told.code == 2
    assert told.complained


@pytest.mark.parametrize(
    ("taken_out", "said"),
    [("keeper = ", 'no role may "manage-people"'), ("time_zone = ", "time_zone")],
)
def test_a_site_file_that_cannot_be_used_is_refused_in_words(
    errand: Errand, tmp_path: Path, taken_out: str, said: str
) -> None:
    lines = SITE.read_text().splitlines(keepends=True)
    file = tmp_path / "site.toml"
    file.write_text("".join(line for line in lines if not line.startswith(taken_out)))

    told = errand("found", file, "MD", "Mirela", "--generate", "--folder", tmp_path / "site")

    assert told.code == 2
    assert said in " ".join(told.complained)
    assert not (tmp_path / "site").exists()

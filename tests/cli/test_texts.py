"""Errands about a file: 0 when all is well, 1 with the reasons, 2 when it could not be read."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from app.settings import data_folder
from tests.cli.conftest import Errand

PROCEDURES = data_folder("procedures")


@pytest.fixture
def spoilt(tmp_path: Path) -> Path:
    """Return a copy of QP-4 with one key that is none."""
    shutil.copytree(PROCEDURES, tmp_path, dirs_exist_ok=True)
    file = tmp_path / "QP-4.toml"
    file.write_text(file.read_text().replace("\nplanned = ", "\nplaned = ", 1))
    return file


def test_the_procedures_that_come_with_the_program_can_be_released(errand: Errand) -> None:
    told = errand("check", PROCEDURES)

    assert told.code == 0
    assert told.said[0] == "Can be released. No fault, 1 question."
    assert "QP-4 revision 3. Release the hold-downs and lift the mirror off its cell" in told.said


def test_a_fault_is_told_with_file_line_and_mending(errand: Errand, spoilt: Path) -> None:
    line = next(
        n for n, text in enumerate(spoilt.read_text().splitlines(), 1) if text.startswith("planed")
    )

    told = errand("check", spoilt)  # the site's file is found beside it

    assert told.code == 1
    assert told.said[:5] == [
        "Cannot be released. 2 faults.",
        "",
        "Faults",
        f"  {spoilt}:1: planned: This file has no planned. Add planned.",
        f"  {spoilt}:{line}: planed: planed is not a key of this file. Did you mean planned?",
    ]


def test_the_same_is_told_as_data(errand: Errand, spoilt: Path) -> None:
    told = errand("check", spoilt, "--json")

    report = json.loads("\n".join(told.said))
    assert told.code == report["exit_code"] == 1
    assert {"file", "line", "key", "what", "mend"} == set(report["faults"][0])


def test_a_file_that_is_not_there_is_neither_sound_nor_faulty(
    errand: Errand, tmp_path: Path
) -> None:
    missing = tmp_path / "QP-9.toml"

    told = errand("check", missing)

    assert told.code == 2
    assert told.complained == [f"{missing} cannot be read: No such file or directory."]


@pytest.mark.slow
def test_a_sealed_record_is_written_and_found_whole(
    errand: Errand, demo_site: Path, tmp_path: Path
) -> None:
    out = tmp_path / "record.pdf"

    written = errand("record", "R-0001", "--folder", demo_site, "--out", out)
    whole = errand("verify", out)

    assert (written.code, whole.code) == (0, 0)
    assert whole.said[0] == "Record R-0001 is whole."


@pytest.mark.slow
def test_a_record_with_one_byte_changed_is_not_whole(
    errand: Errand, demo_site: Path, tmp_path: Path
) -> None:
    pdf = bytearray((demo_site / "records/R-0001.pdf").read_bytes())
    pdf[len(pdf) // 3] ^= 1
    changed = tmp_path / "changed.pdf"
    changed.write_bytes(pdf)

    told = errand("verify", changed)

    assert told.code == 1
    assert "NOT" in told.said[0]


@pytest.mark.slow
def test_a_record_under_another_root_is_not_this_site_s(errand: Errand, demo_site: Path) -> None:
    told = errand("verify", demo_site / "records/R-0001.pdf", "--root", "0" * 64)

    assert told.code == 1


@pytest.mark.slow
@pytest.mark.parametrize(
    ("run", "sentence"),
    [
        ("R-0002", "R-0002 is not closed yet. Its record is sealed when it is."),
        ("R-0009", "Quillmoor Observatory has no run R-0009."),
        ("../R-1", "'../R-1' is no run. A run is named like R-0001."),
    ],
)
def test_what_has_no_record_is_told(
    errand: Errand, demo_site: Path, run: str, sentence: str
) -> None:
    told = errand("record", run, "--folder", demo_site)

    assert told.code == 2
    assert told.complained == [sentence]


@pytest.mark.slow
def test_a_record_that_was_not_printed_is_sealed_when_asked_for(
    errand: Errand, demo_site: Path, tmp_path: Path
) -> None:
    sealed = demo_site / "records/R-0001.pdf"
    out = tmp_path / "again.pdf"
    sealed.unlink()

    told = errand("record", "R-0001", "--folder", demo_site, "--out", out)

    # It was announced as sealed in the ledger, so it is missing, not unsealed: nothing is made up.
    assert told.code == 2
    assert not out.exists()
    assert str(sealed) in told.complained[0]

"""Verifying from the command line: sentences, and an exit status of 0, 1 or 2."""

from __future__ import annotations

from pathlib import Path

import pytest

from app.cli.main import main


def said(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str]:
    code = main(arguments, None)  # type: ignore[arg-type]  # nothing here serves pages
    told = capsys.readouterr()
    return code, told.out + told.err


def test_a_record_beside_the_sites_log_its_photos_and_its_ledger_is_whole(
    demo_made: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log, record = tmp_path / "log.jsonl", demo_made / "records" / "R-0001.pdf"
    code, told = said(capsys, "site-log", "--folder", str(demo_made), "--out", str(log))
    assert (code, "is the site's log: " in told) == (0, True)

    code, told = said(
        capsys,
        "verify",
        str(record),
        *("--site-log", str(log)),
        *("--photos", str(demo_made / "photos")),
        *("--ledger", str(demo_made)),
    )

    assert code == 0, told
    for sentence in (
        "Record R-0001 is whole.",
        "The site's log announced this very file on ",
        "photos are there, byte for byte as they were entered.",
        "acts were played again: each would have been taken",
        "pages is, character for character, what the attached events",
        "What is kept in ",
    ):
        assert sentence in told, sentence


def test_the_worst_of_several_files_counts(
    demo_made: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record = demo_made / "records" / "R-0001.pdf"
    broken, none = tmp_path / "broken.pdf", tmp_path / "none.pdf"
    broken.write_bytes(record.read_bytes() + b"\n")
    none.write_bytes(b"no record")

    assert said(capsys, "verify", str(record))[0] == 0
    assert said(capsys, "verify", str(record), str(none))[0] == 2
    code, told = said(capsys, "verify", str(none), str(record), str(broken))

    assert code == 1
    assert f"{broken}:\nRecord R-0001 is NOT whole." in told


def test_nothing_to_verify_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    code, told = said(capsys, "verify")

    assert code == 2
    assert "Name a record to verify, or a site's folder after --ledger." in told

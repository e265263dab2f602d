"""The record in the eyes of checkers that are not ours; and that these checkers do find faults."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

import pikepdf

from tests.record.independent import errors_aloud, faults_by_page, rules_held

if TYPE_CHECKING:
    from pathlib import Path

    from tests.record.conftest import Sealed


def test_a_sealed_record_breaks_no_rule_of_archives_and_of_accessibility(file: Path) -> None:
    assert faults_by_page(file) == []
    assert rules_held(file) == {"3a": 156, "ua1": 104}


def test_the_other_checker_finds_no_error_either(file: Path) -> None:
    assert errors_aloud(file) == []


def without(key: str, sealed: Sealed, folder: Path) -> Path:
    """Return the printed record as a file whose catalog lacks a key."""
    file = folder / "lacking.pdf"
    with pikepdf.open(BytesIO(sealed.printed.pdf)) as pdf:
        del pdf.Root[key]
        pdf.save(file)
    return file


def test_the_first_checker_sees_that_the_tags_are_not_announced(
    sealed: Sealed, tmp_path: Path
) -> None:
    faults = faults_by_page(without("/MarkInfo", sealed, tmp_path))

    assert any("MarkInfo" in fault or "Marked" in fault for fault in faults), faults


def test_the_other_checker_sees_that_no_language_is_named(sealed: Sealed, tmp_path: Path) -> None:
    errors = errors_aloud(without("/Lang", sealed, tmp_path))

    assert any("lang" in error.lower() for error in errors), errors

"""Errands about a file in the hand: can this procedure be released, is this record whole."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from app.cli.told import read
from app.procedure.check import SITE, check
from app.record.verify import verify

if TYPE_CHECKING:
    import argparse
    from pathlib import Path


def check_files(asked: argparse.Namespace) -> int:
    """Say of each procedure whether it can be released."""
    files = _with_site([each for named in asked.files for each in _texts(named)])
    beside = {each.name for file in files for each in file.parent.iterdir()}
    report = check({str(file): read(file) for file in files}, pictures=beside)
    if asked.json:
        print(json.dumps(report.as_dict(), indent=2, ensure_ascii=False))
        return report.exit_code
    for fault in report.faults:
        print(fault)
    for procedure in report.procedures:
        steps = f"{len(procedure.steps)} steps"
        print(f"{procedure.id} revision {procedure.revision}, {steps}: can be released.")
    count = "1 fault" if len(report.faults) == 1 else f"{len(report.faults)} faults"
    print(f"{len(report.files)} files, {count}.")
    return report.exit_code


def _texts(named: Path) -> list[Path]:
    """Return the file; a folder stands for the TOML files in it."""
    return sorted(named.glob("*.toml")) if named.is_dir() else [named]


def _with_site(files: list[Path]) -> list[Path]:
    """Return the files with the site's own, which lies beside the first if it was not named."""
    if not files or any(file.name == SITE for file in files):
        return files
    beside = files[0].with_name(SITE)
    return [beside, *files] if beside.is_file() else files


def verify_file(asked: argparse.Namespace) -> int:
    """Say whether a record is whole."""
    report = verify(read(asked.file), asked.root)
    print(report)
    return report.exit_code

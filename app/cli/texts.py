"""The errand about procedures in the hand: can they be released."""

from __future__ import annotations

import json
import time
from typing import TYPE_CHECKING

from app.cli.told import read
from app.procedure.check import SITE
from app.proof.checking import check_whole
from app.proof.words import told

if TYPE_CHECKING:
    import argparse
    from pathlib import Path


def check_files(asked: argparse.Namespace) -> int:
    """Say of each procedure whether it can be released."""
    files = _with_site([each for named in asked.files for each in _texts(named)])
    beside = {each.name for file in files for each in file.parent.iterdir()}
    texts = {str(file): read(file) for file in files}
    earlier = {str(file): read(file) for named in asked.against for file in _procedures(named)}
    began = time.perf_counter()
    checked = check_whole(texts, beside, against=earlier)
    if asked.json:
        print(json.dumps(checked.as_dict(), indent=2, ensure_ascii=False))
    else:
        print("\n".join(told(checked, time.perf_counter() - began)))
    return checked.exit_code


def _procedures(named: Path) -> list[Path]:
    return [file for file in _texts(named) if file.name != SITE]


def _texts(named: Path) -> list[Path]:
    """Return the file; a folder stands for the TOML files in it."""
    return sorted(named.glob("*.toml")) if named.is_dir() else [named]


def _with_site(files: list[Path]) -> list[Path]:
    """Return the files with the site's own, which lies beside the first if it was not named."""
    if not files or any(file.name == SITE for file in files):
        return files
    beside = files[0].with_name(SITE)
    return [beside, *files] if beside.is_file() else files

"""What an errand comes to: a number for the shell, or a sentence on what stands in the way."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.desk.desk import Desk

if TYPE_CHECKING:
    from pathlib import Path

YES, NO, CANNOT = 0, 1, 2  # yes; no, the sentences say why; could not be read or done


class Trouble(Exception):  # noqa: N818 - told to a person, as it is named
    """An errand cannot be done; the message is a sentence for the person who asked."""


def read(file: Path) -> bytes:
    """Return a file's bytes.

    Raises:
        Trouble: it cannot be read.
    """
    try:
        return file.read_bytes()
    except OSError as trouble:
        raise Trouble(f"{file} cannot be read: {trouble.strerror}.") from trouble


def open_site(folder: Path) -> Desk:
    """Open the site in a folder.

    Raises:
        Trouble: there is none.
    """
    if not folder.is_dir():
        raise Trouble(
            f"There is no site in {folder}. `mirrorwright found` makes one, `demo` one to try."
        )
    return Desk.open(folder)

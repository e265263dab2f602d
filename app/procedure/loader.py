"""Loads a site or a procedure from its text: the model, or every fault of its form at once."""

from __future__ import annotations

from hashlib import sha256
from typing import TYPE_CHECKING

from app.procedure.opening import open_text
from app.procedure.procedure_file import read_procedure
from app.procedure.rules.references import reference_faults
from app.procedure.rules.written import Written
from app.procedure.site_file import read_site

if TYPE_CHECKING:
    from app.procedure.faults import Fault
    from app.procedure.model import Procedure, Site


def load_site(text: bytes | str, file: str) -> tuple[Site | None, list[Fault]]:
    """Return the site, or None with all the faults of its file."""
    table, faults = open_text(text, file)
    site = None if table is None else read_site(table)
    return (None if faults else site), sorted(faults)


def load_procedure(
    text: bytes | str, file: str, site: Site
) -> tuple[Procedure | None, list[Fault]]:
    """Return the procedure, or None with all the faults of its form.

    The SHA-256 is that of the exact bytes: of a text, that of its UTF-8.
    """
    table, faults = open_text(text, file)
    if table is None:
        return None, faults
    procedure = read_procedure(table, site, fingerprint(text))
    faults += reference_faults(Written.of(procedure, site, table))
    return (None if faults else procedure), sorted(faults)


def fingerprint(text: bytes | str) -> str:
    """Return the SHA-256 of a file's exact bytes."""
    return sha256(text.encode() if isinstance(text, str) else text).hexdigest()

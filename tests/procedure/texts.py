"""The texts that the tests of this package read: the flagship's own, and small ones made here."""

from __future__ import annotations

from pathlib import Path

from app.procedure.faults import Fault
from app.procedure.loader import load_site
from app.procedure.model import Site

FOLDER = Path(__file__).parents[2] / "procedures"
SITE_TEXT = (FOLDER / "site.toml").read_text(encoding="utf-8")
QP4_TEXT = (FOLDER / "QP-4.toml").read_text(encoding="utf-8")

HEAD = """format = 1
id = "QP-9"
revision = 1
title = "A short one"
asset = "primary"
purpose = "To be read by a test."
planned = "1 h"
safe_state = "Load on the supports."
crew = { technician = 2, supervisor = 1 }
[[sections]]
title = "Only section"
"""
STEP = """[[sections.steps]]
id = "look"
kind = "tick"
do = "Look at the mirror."
"""


def the_site() -> Site:
    site, faults = load_site(SITE_TEXT, "site.toml")
    assert site is not None, faults
    return site


def line_of(text: str, marker: str) -> int:
    """The line on which a marker stands; it stands once."""
    assert text.count(marker) == 1, f"{marker!r} stands {text.count(marker)} times"
    return text[: text.index(marker)].count("\n") + 1


def planted(text: str, old: str, new: str) -> str:
    """The text with one thing changed; what is changed stands there once."""
    assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
    return text.replace(old, new)


def said(faults: list[Fault] | tuple[Fault, ...]) -> list[str]:
    return [str(fault) for fault in faults]

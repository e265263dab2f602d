"""The texts of QP-5 to QP-7, as the tests of this package read them."""

from __future__ import annotations

from app.proof.checking import Checked, check_whole
from tests.procedure.texts import FOLDER, SITE_TEXT

IDS = ("QP-5", "QP-6", "QP-7")
TEXTS = {name: (FOLDER / f"{name}.toml").read_text(encoding="utf-8") for name in IDS}


def proved(name: str, text: str) -> Checked:
    """Return all that the check says of one text."""
    return check_whole({"site.toml": SITE_TEXT, f"{name}.toml": text})

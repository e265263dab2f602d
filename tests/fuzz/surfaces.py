"""The surfaces that take what anyone gives: texts of procedures and sites, sealed papers, photos.

Each function does one case by lot and returns what was wrong with the answer: "" if all was well.
"""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from functools import cache
from pathlib import Path

from app.procedure.check import check
from app.procedure.loader import load_procedure, load_site
from app.procedure.model import Site
from app.record.verify import verify
from app.settings import data_folder
from app.web.turned_away import TurnedAway
from app.web.uploads import drawn_anew
from tests.fuzz.lots import Lots

Case = Callable[[Lots], str]
LONGEST_S = 5.0  # a case that takes longer hangs, for whoever waits for it


def texts() -> dict[str, bytes]:
    """Return the real texts: what is mutated."""
    files = sorted(data_folder("procedures").glob("*.toml"))
    return {file.name: file.read_bytes() for file in files}


@cache
def _site() -> Site:
    found, _ = load_site(texts()["site.toml"], "site.toml")
    assert found is not None
    return found


def a_site(lots: Lots) -> str:
    """Load a site's text with something changed in it."""
    content = lots.mutated(texts()["site.toml"])
    site, faults = load_site(content, "site.toml")
    return "" if site is not None or faults else "refused without a fault"


def a_procedure(lots: Lots) -> str:
    """Load a procedure's text with something changed in it."""
    known = {name: text for name, text in texts().items() if name != "site.toml"}
    name = str(lots.of(*known))
    model, faults = load_procedure(lots.mutated(known[name]), name, _site())
    if model is None and not faults:
        return "refused without a fault"
    return next((f"no sentence: {fault}" for fault in faults if len(str(fault)) < 12), "")


def a_toml_value(lots: Lots) -> str:
    """Load a procedure in which one value was replaced by another that TOML allows."""
    known = {name: text for name, text in texts().items() if name != "site.toml"}
    name = str(lots.of(*known))
    lines = known[name].decode().splitlines()
    at = [i for i, line in enumerate(lines) if re.match(r"[a-z_]+ = ", line)]
    chosen = at[lots.below(len(at))]
    key = lines[chosen].partition(" = ")[0]
    value = lots.of(
        "0", "-1", "1.5", "inf", "nan", "true", '""', '"9.0 m/s"', "[]", "[[]]", "{}", "{ a = 1 }", "1e400",
        "2026-01-01", "99999999999999999999", "['x']", '"\\u0000"', "{ at_least = 1 }", '"3 parsec"', '"-0"',
    )  # fmt: skip
    lines[chosen] = f"{key} = {value}"
    text = "\n".join(lines)
    model, faults = load_procedure(text, name, _site())
    return "" if model is not None or faults else "refused without a fault"


def a_check(lots: Lots) -> str:
    """Check a mutated procedure whole: loading, rules, proof."""
    known = texts()
    name = str(lots.of(*(each for each in known if each != "site.toml")))
    report = check({"site.toml": known["site.toml"], name: lots.mutated(known[name])})
    return next((f"no sentence: {fault}" for fault in report.faults if len(str(fault)) < 12), "")


def a_paper(paper: bytes) -> Case:
    """Return the case that verifies a sealed paper with something changed in it."""

    def case(lots: Lots) -> str:
        content = lots.mutated(paper) if not lots.chance(10) else lots.noise(4000)
        report = verify(content)
        if not report.sentences:
            return "no sentence"
        return "a changed paper was called whole" if report.ok and content != paper else ""

    return case


def a_photo(photos: tuple[bytes, ...]) -> Case:
    """Return the case that looks at a photo with something changed in it."""

    def case(lots: Lots) -> str:
        try:
            _, suffix = drawn_anew(lots.mutated(photos[lots.below(len(photos))]))
        except TurnedAway as turned_away:
            return "" if turned_away.refusal.sentence else "no sentence"
        return "" if suffix in (".jpg", ".png", ".webp") else f"kept as {suffix}"

    return case


def found_wrong(case: Case, seed: int) -> str:
    """Do one case and return what was wrong, an exception or a hang included."""
    started = time.perf_counter()
    try:
        wrong = case(Lots(seed))
    except Exception as broken:
        wrong = f"{type(broken).__name__}: {broken}"
    took = time.perf_counter() - started
    return wrong or (f"took {took:.1f} s" if took > LONGEST_S else "")


def home() -> Path:
    """Return the folder of these tests."""
    return Path(__file__).parent

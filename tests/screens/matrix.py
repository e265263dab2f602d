"""Every address of the application, and what each role is answered there.

`WRITE_MATRIX=1 pytest tests/screens/test_every_address.py` writes the table into DEVELOPERS.md.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from http import HTTPStatus
from pathlib import Path

from fastapi import FastAPI
from fastapi.routing import APIRoute

from tests.desk.conftest import SECRETS

ROLES = {"nobody": "", "technician": "AB", "supervisor": "SL", "lead": "HL", "auditor": "AU"}
GUIDE = Path(__file__).parents[2] / "DEVELOPERS.md"
BEGIN, END = "<!-- addresses -->\n", "<!-- /addresses -->\n"
OWN = "their own"  # in a body: the person who asks, with their own secret

Body = Mapping[str, str]
Address = tuple[str, str]  # method and path as the application declares it

SIGNED = {"person": OWN, "secret": OWN, "seen": "999"}
TOGETHER = {**SIGNED, "second": "SL", "second_secret": SECRETS["SL"], "reason": "As agreed."}


@dataclass(frozen=True, slots=True)
class Sample:
    """A request that would do if everything but the role were right."""

    body: Body = field(default_factory=dict)
    names: Body = field(default_factory=dict)  # for the names in the path


STEP = {"step_id": "wind"}
SAMPLES: dict[Address, Sample] = {
    ("POST", "/sign-on"): Sample({"person": "AB", "secret": SECRETS["AB"]}),
    ("POST", "/hands"): Sample({"person": OWN}),
    ("POST", "/sign-off"): Sample({"person": OWN}),
    ("POST", "/settings"): Sample({"theme": "dim"}),
    ("POST", "/runs"): Sample({"procedure": "QP-9", **SIGNED}),
    ("POST", "/runs/{run_id}/steps/{step_id}/enter"): Sample(
        {"values.value": "4.2", "seen": "999"}, STEP
    ),
    ("POST", "/runs/{run_id}/steps/{step_id}/sign"): Sample(SIGNED, {"step_id": "gap"}),
    ("POST", "/runs/{run_id}/steps/{step_id}/refuse"): Sample(
        {**SIGNED, "reason": "Not so."}, {"step_id": "hold"}
    ),
    ("POST", "/runs/{run_id}/steps/{step_id}/trouble"): Sample({"text": "It leans."}, STEP),
    ("POST", "/runs/{run_id}/troubles/{number}"): Sample(
        {**SIGNED, "disposition": "redo", "reason": "Do it again."}
    ),
    ("POST", "/runs/{run_id}/entries/{number}/correct"): Sample(
        {**SIGNED, "reason": "Misread.", "values.result": "seized"}
    ),
    ("POST", "/stop"): Sample(),
    ("POST", "/runs/{run_id}/stop"): Sample({"text": "Wind."}),
    ("POST", "/runs/{run_id}/restart"): Sample({**SIGNED, "confirmed": "All safe."}),
    ("POST", "/runs/{run_id}/suspend"): Sample({**SIGNED, "state": "As it was."}),
    ("POST", "/runs/{run_id}/resume"): Sample({**SIGNED, "confirmed": "All safe."}),
    ("POST", "/runs/{run_id}/close"): Sample(SIGNED),
    ("POST", "/runs/{run_id}/abandon"): Sample({**TOGETHER, "state": "On the cell."}),
    ("POST", "/runs/{run_id}/change"): Sample(
        {**TOGETHER, "step": "wind", "lines": 'do = "Read."'}
    ),
    ("POST", "/procedures"): Sample({**SIGNED, "toml": "format = 1"}),
    ("POST", "/procedures/{procedure}/review"): Sample(
        {**SIGNED, "sha256": "TEXT", "note": "Read."}
    ),
    ("POST", "/procedures/{procedure}/release"): Sample({**SIGNED, "sha256": "TEXT"}),
    ("POST", "/procedures/{procedure}/withdraw"): Sample({**SIGNED, "reason": "It misleads."}),
    ("POST", "/procedures/{procedure}/acknowledge"): Sample({**SIGNED, "sha256": "TEXT"}),
}
NAMES = {
    "run_id": "R-0001", "step_id": "hold", "number": "1", "procedure": "QP-9", "step": "wind",
    "sha": "0" * 64, "name": "saturation-pressure",
}  # fmt: skip


def addresses(app: FastAPI) -> Iterator[Address]:
    """Yield every address that the application declares, as (method, path)."""
    for included in app.routes:
        for route in getattr(getattr(included, "original_router", None), "routes", (included,)):
            if isinstance(route, APIRoute):
                yield from ((method, route.path) for method in sorted(route.methods or ()))


def word_of(status: int) -> str:
    """Return an answer in the words of the table."""
    if status == HTTPStatus.UNAUTHORIZED:
        return "sign on"
    if status == HTTPStatus.FORBIDDEN:
        return "no"
    return "yes" if status < HTTPStatus.BAD_REQUEST else "rules"


def table(found: Mapping[Address, Mapping[str, str]]) -> str:
    """Return what was found as the table of DEVELOPERS.md."""
    rows = [f"| address | {' | '.join(ROLES)} |", "|---" * (len(ROLES) + 1) + "|"]
    for (method, path), answers in found.items():
        words = " | ".join(answers[role] for role in ROLES)
        rows.append(f"| `{method} {path}` | {words} |")
    return "\n".join(rows) + "\n"


def written() -> str:
    """Return the table that stands in DEVELOPERS.md."""
    return GUIDE.read_text("utf-8").partition(BEGIN)[2].partition(END)[0]


def write(new: str) -> None:
    """Put a table in its place."""
    text = GUIDE.read_text("utf-8")
    before, _, rest = text.partition(BEGIN)
    GUIDE.write_text(f"{before}{BEGIN}{new}{END}{rest.partition(END)[2]}", "utf-8")

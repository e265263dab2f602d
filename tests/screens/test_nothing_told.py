"""What is secret is in no log line and in no event: secrets, their hashes, tokens, the site's keys."""

from __future__ import annotations

import logging

import pytest

from app.desk.desk import Desk
from app.desk.founding import KEYS
from app.people.tables import PEOPLE
from tests.desk.conftest import SECRETS, Clock
from tests.screens.conftest import Tablets, count, take_off
from tests.screens.visitor import Visitor

WRONG = "the-secret-of-another-house"


def work(tablets: Tablets, run: str, clock: Clock) -> list[Visitor]:
    """Sign on, work to the blind count, sign wrongly and rightly, stop: as a shift does."""
    tablet, other = tablets("KM", "AB"), tablets("SL", "HL")
    take_off(tablet, run)
    count(tablet, run, clock, "0", "0", "0")
    tablet.tell("/sign-on", person="RS", secret=WRONG)
    tablet.tell("/sign-on", person=WRONG, secret=SECRETS["RS"])  # in the wrong field
    other.sign(run, "gap", "SL")
    other.tell(f"/runs/{run}/close", person="HL", secret=SECRETS["HL"], seen="x")
    other.tell("/runs", person="HL", secret=SECRETS["HL"], procedure="none")
    tablet.tell(f"/runs/{run}/stop", text="Wind.")
    return [tablet, other]


def test_a_whole_shift_leaves_nothing_secret_in_log_or_ledger(
    tablets: Tablets, desk: Desk, run: str, clock: Clock, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)

    visitors = work(tablets, run, clock)

    with desk.ledger.reader() as connection:
        hashes = [row.secret_hash for row in connection.execute(PEOPLE.select())]
    tokens = [visitor.client.cookies["session"] for visitor in visitors]
    keys = [file.read_bytes() for file in (desk.ledger.folder / KEYS).rglob("*") if file.is_file()]
    events = b"".join(event.canonical for event in desk.ledger.read_all()).decode()
    secret = [*SECRETS.values(), WRONG, *hashes, *tokens]
    secret += [
        line for key in keys for line in key.decode("latin-1").splitlines() if len(line) > 40
    ]
    assert len(hashes) == len(SECRETS)
    assert len(keys) > 1
    assert [each for each in secret if each in caplog.text] == []
    assert [each for each in secret if each in events and "CERT" not in each] == []


def test_a_bug_in_the_middle_of_signing_tells_the_log_no_secret(
    tablets: Tablets, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    tablet = tablets("AB")
    caplog.set_level(logging.DEBUG)

    async def broken(*_: object, **__: object) -> None:
        raise RuntimeError("the inside of the program")

    monkeypatch.setattr(Desk, "why_not_own", broken)
    answer = tablet.tell("/sign-on", **tablet.as_("HL"))

    assert answer.status_code == 500
    assert "the inside of the program" in caplog.text
    assert SECRETS["HL"] not in caplog.text
    assert SECRETS["HL"] not in answer.text

"""Several people at one tablet, one of them entering, until their shift ends."""

from __future__ import annotations

import hashlib
import threading
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from time import sleep

import pytest

from app.ledger.ledger import Transaction
from app.people.sessions import Session
from app.run.refusal import Refusal
from tests.people.conftest import NOON, House


def wait_for_errands(house: House, count: int) -> None:
    for _ in range(20_000):
        if house.ledger._writer._queue.qsize() == count:
            return
        sleep(0.001)
    raise AssertionError("the errands never came")


@pytest.fixture(autouse=True)
def crew(house: House) -> None:
    for person in ("JB", "KM", "RS"):
        house.add(person)


def test_signing_on_gives_the_tablet_a_token_of_which_only_the_hash_is_kept(house: House) -> None:
    session = house.sessions.sign_on(None, "JB", "tablet 1")

    assert len(session.token) >= 43  # 256 bits in base64
    assert session.token not in repr(session)
    assert session.token_hash == hashlib.sha256(session.token.encode()).hexdigest()
    assert (session.people, session.entering) == (("JB",), "JB")
    assert session.until == NOON + timedelta(hours=12)
    house.close()
    kept = b"".join(path.read_bytes() for path in house.folder.rglob("*") if path.is_file())
    house.open()
    assert session.token.encode() not in kept
    assert session.token_hash.encode() in kept


def test_several_people_are_signed_on_at_one_tablet_and_the_last_to_come_enters(
    house: House,
) -> None:
    token = house.sessions.sign_on(None, "JB", "tablet 1").token

    second = house.sessions.sign_on(token, "KM", "tablet 1")

    assert second.token == token
    assert house.sessions.get(token, house.now) == second
    assert (second.people, second.entering) == (("JB", "KM"), "KM")


def test_the_tablet_changes_hands_among_those_signed_on(house: House) -> None:
    token = house.sessions.sign_on(None, "JB", "tablet 1").token
    house.sessions.sign_on(token, "KM", "tablet 1")

    changed = house.sessions.change_hands(token, "JB")

    assert isinstance(changed, Session)
    assert changed.entering == "JB"
    assert house.sessions.change_hands(token, "RS") == Refusal(
        code="session.not_here",
        sentence="RS is not signed on at this tablet. RS signs on first.",
        who="RS",
        where="at this tablet",
    )
    assert house.sessions.get(token, house.now) == changed


def test_when_the_one_who_enters_leaves_nobody_enters_until_someone_says_so(house: House) -> None:
    token = house.sessions.sign_on(None, "JB", "tablet 1").token
    house.sessions.sign_on(token, "KM", "tablet 1")

    left = house.sessions.sign_off(token, "KM")

    assert left is not None
    assert (left.people, left.entering) == (("JB",), "")
    assert house.sessions.sign_off(token, "JB") is None
    assert house.sessions.get(token, house.now) is None


def test_a_token_that_the_server_did_not_give_is_never_taken_up(house: House) -> None:
    session = house.sessions.sign_on("chosen-by-someone", "JB", "tablet 1")

    assert session.token != "chosen-by-someone"
    assert house.sessions.get("chosen-by-someone", house.now) is None
    assert house.sessions.get("", house.now) is None
    assert house.sessions.get(None, house.now) is None
    assert house.sessions.get("half\ud800", house.now) is None


def test_each_persons_stay_ends_with_their_own_shift(house: House) -> None:
    token = house.sessions.sign_on(None, "JB", "tablet 1").token
    house.pass_time(hours=2)
    house.sessions.sign_on(token, "KM", "tablet 1")
    house.sessions.change_hands(token, "JB")

    house.pass_time(hours=9, minutes=59)
    before = house.sessions.get(token, house.now)
    house.pass_time(minutes=1)
    after = house.sessions.get(token, house.now)
    house.pass_time(hours=2)

    assert before is not None
    assert (before.people, before.entering) == (("JB", "KM"), "JB")
    assert after is not None
    assert (after.people, after.entering) == (("KM",), "")
    assert house.sessions.get(token, house.now) is None


def test_signing_on_after_the_shift_gives_a_new_token(house: House) -> None:
    token = house.sessions.sign_on(None, "JB", "tablet 1").token
    house.pass_time(hours=12)

    assert house.sessions.sign_on(token, "JB", "tablet 1").token != token


def test_signing_on_again_begins_the_shift_anew(house: House) -> None:
    token = house.sessions.sign_on(None, "JB", "tablet 1").token
    house.pass_time(hours=11)

    again = house.sessions.sign_on(token, "JB", "tablet 1")

    assert (again.people, again.until) == (("JB",), house.now + timedelta(hours=12))


def test_nobody_at_a_tablet_is_a_refusal_that_names_the_way(house: House) -> None:
    answer = house.sessions.change_hands("unknown", "JB")

    assert answer == Refusal(
        code="session.nobody",
        sentence="Nobody is signed on at this tablet. Sign on first. Stop work still works.",
        where="at this tablet",
    )
    assert house.sessions.sign_off("unknown", "JB") is None


def test_sessions_survive_a_restart(house: House) -> None:
    one = house.sessions.sign_on(None, "JB", "tablet 1").token
    house.sessions.sign_on(one, "KM", "tablet 1")
    two = house.sessions.sign_on(None, "RS", "tablet 2").token
    house.sessions.change_hands(one, "JB")
    before = [house.sessions.get(token, house.now) for token in (one, two)]

    house.restart()

    assert [house.sessions.get(token, house.now) for token in (one, two)] == before
    assert house.sessions.present(house.now) == {"JB", "KM", "RS"}


def test_asking_who_is_there_reads_no_database(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = house.sessions.sign_on(None, "JB", "tablet 1")
    monkeypatch.setattr(house.ledger, "reader", None)  # any read would raise
    monkeypatch.setattr(house.ledger, "submit", None)

    assert house.sessions.get(session.token, house.now) == session
    assert house.sessions.get("unknown", house.now) is None


@pytest.mark.parametrize("restart", [False, True])
@pytest.mark.parametrize("act", ["retire", "reset"])
def test_the_retired_and_those_with_a_new_secret_are_signed_off_everywhere(
    house: House, act: str, *, restart: bool
) -> None:
    one = house.sessions.sign_on(None, "JB", "tablet 1").token
    two = house.sessions.sign_on(None, "KM", "tablet 2").token
    house.sessions.sign_on(two, "JB", "tablet 2")

    if act == "retire":
        house.register.retire("JB", by="KP")
    else:
        house.register.reset_secret("JB", "rain on the hall", by="KP")
    if restart:
        house.restart()

    assert house.sessions.get(one, house.now) is None
    left = house.sessions.get(two, house.now)
    assert left is not None
    assert (left.people, left.entering) == (("KM",), "")


@pytest.mark.parametrize(("sent_away_first", "people"), [(False, ("KM",)), (True, ("KM", "JB"))])
def test_signing_on_in_the_batch_that_sends_away_leaves_memory_as_the_tables(
    house: House, people: tuple[str, ...], *, sent_away_first: bool
) -> None:
    token = house.sessions.sign_on(None, "RS", "tablet 1").token
    house.sessions.sign_on(token, "KM", "tablet 1")
    begun, gate = threading.Event(), threading.Event()

    def hold_the_writer(_tx: Transaction) -> None:
        begun.set()
        gate.wait(timeout=20)

    def sign_on() -> None:
        house.sessions.sign_on(token, "JB", "tablet 1")

    def send_away() -> None:
        for person in ("RS",) if sent_away_first else ("JB", "RS"):
            house.register.reset_secret(person, "rain on the hall", by="KP")

    house.ledger.submit(hold_the_writer)
    assert begun.wait(timeout=20)
    with ThreadPoolExecutor(2) as crowd:
        for place, act in enumerate(
            (send_away, sign_on) if sent_away_first else (sign_on, send_away), start=1
        ):
            crowd.submit(act)
            wait_for_errands(house, place)  # one behind the other
        gate.set()
    in_memory = house.sessions.get(token, house.now)
    house.restart()

    assert in_memory is not None
    assert in_memory.people == people
    assert house.sessions.get(token, house.now) == in_memory


def test_shifts_that_ended_leave_no_rows_behind(house: House) -> None:
    house.sessions.sign_on(None, "JB", "tablet 1")
    house.pass_time(hours=13)

    house.sessions.sign_on(None, "KM", "tablet 2")

    with house.ledger.reader() as connection:
        rows = connection.exec_driver_sql("SELECT person FROM session_people").all()
        sessions = connection.exec_driver_sql("SELECT count(*) FROM sessions").scalar()
    assert [tuple(row) for row in rows] == [("KM",)]
    assert sessions == 1

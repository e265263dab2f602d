"""Who was entering at a tablet at a moment that has passed."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.people.conftest import NOON, House

HOUR = timedelta(hours=1)


@pytest.fixture(autouse=True)
def crew(house: House) -> None:
    for person in ("JB", "KM"):
        house.add(person)


def test_who_was_entering_is_known_after_they_have_left(house: House) -> None:
    token = house.sessions.sign_on(None, "JB", "tablet 1").token
    house.pass_time(hours=1)
    house.sessions.sign_on(token, "KM", "tablet 1")
    house.pass_time(hours=1)
    house.sessions.sign_off(token, "KM")
    house.sessions.sign_off(token, "JB")
    asked = house.sessions.was_entering

    assert asked(token, "JB", NOON + HOUR / 2)
    assert not asked(token, "KM", NOON + HOUR / 2)
    assert asked(token, "KM", NOON + HOUR * 1.5)
    assert not asked(token, "JB", NOON + HOUR * 1.5)
    assert not asked(token, "JB", NOON + HOUR * 2.5)
    house.restart()
    assert house.sessions.was_entering(token, "JB", NOON + HOUR / 2)


def test_nobody_entered_after_the_end_of_their_shift(house: House) -> None:
    token = house.sessions.sign_on(None, "JB", "tablet 1").token

    assert house.sessions.was_entering(token, "JB", NOON + HOUR * 11.9)
    assert not house.sessions.was_entering(token, "JB", NOON + HOUR * 12.1)


def test_the_next_shift_at_a_tablet_can_send_what_the_last_one_entered(house: House) -> None:
    old = house.sessions.sign_on(None, "JB", "tablet 1").token
    house.pass_time(hours=13)
    new = house.sessions.sign_on(old, "KM", "tablet 1").token

    assert new != old
    assert house.sessions.was_entering(new, "JB", NOON + HOUR)


def test_the_name_of_a_tablet_alone_proves_nothing(house: House) -> None:
    house.sessions.sign_on(None, "JB", "tablet 1")
    other = house.sessions.sign_on(None, "KM", "tablet 2").token

    for token in (None, "", "tablet 1", other):
        assert not house.sessions.was_entering(token, "JB", NOON + HOUR)


def test_who_gets_a_new_secret_enters_no_longer(house: House) -> None:
    token = house.sessions.sign_on(None, "JB", "tablet 1").token
    house.pass_time(hours=1)
    house.register.reset_secret("JB", "a quite other secret", by="KP")

    assert house.sessions.was_entering(token, "JB", NOON + HOUR / 2)
    assert not house.sessions.was_entering(token, "JB", NOON + HOUR * 2)


def test_a_tablet_that_has_lost_its_cookies_shows_what_its_pages_carried(house: House) -> None:
    session = house.sessions.sign_on(None, "JB", "tablet 1")

    assert house.sessions.was_entering(None, "JB", NOON + HOUR, proof=session.hands)
    assert not house.sessions.was_entering(None, "KM", NOON + HOUR, proof=session.hands)
    assert not house.sessions.was_entering(None, "JB", NOON + HOUR, proof="0" * 32)
    assert session.token_hash not in session.hands

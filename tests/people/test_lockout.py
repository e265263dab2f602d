"""Five wrong tries lock; each lock lasts longer; a hundred need a keeper."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from app.people.lockout import (
    CEILING,
    FOR_A_KEEPER,
    LONGEST_LOCK,
    TRIES,
    Lockout,
    lock_length,
    next_lock,
)

NOON = datetime(2026, 12, 1, 12, 0, tzinfo=UTC)


def test_the_fifth_wrong_try_locks_for_ten_minutes() -> None:
    lock = Lockout()
    for left in (4, 3, 2, 1):
        lock = next_lock(lock, NOON)
        assert (lock.tries_left, lock.is_shut(NOON)) == (left, False)

    lock = next_lock(lock, NOON)

    assert lock == Lockout(tries=0, locks=1, until=NOON + timedelta(minutes=10))
    assert lock.is_shut(NOON + timedelta(minutes=9, seconds=59))
    assert not lock.is_shut(NOON + timedelta(minutes=10))


def test_each_lock_lasts_twice_as_long_up_to_four_hours() -> None:
    minutes = [int(lock_length(n).total_seconds()) // 60 for n in range(1, 9)]

    assert minutes == [10, 20, 40, 80, 160, 240, 240, 240]


def test_a_try_while_locked_is_not_counted() -> None:
    locked = Lockout(locks=2, until=NOON)

    assert next_lock(locked, NOON - timedelta(seconds=1)) == locked


def test_a_hundred_wrong_tries_in_a_row_need_a_keeper() -> None:
    # SP 800-63B-4, 3.2.2: no more than 100 consecutive failed attempts.
    lock, now = Lockout(), NOON
    for _ in range(CEILING):
        if lock.until is not None:
            now = max(now, lock.until)
        lock = next_lock(lock, now)

    assert lock.until == now + FOR_A_KEEPER


@given(st.lists(st.timedeltas(min_value=timedelta(0), max_value=timedelta(hours=5)), max_size=60))
def test_nobody_guesses_faster_than_the_locks_allow(waits: list[timedelta]) -> None:
    lock, now, looked_at = Lockout(), NOON, 0
    for wait in waits:
        now += wait
        after = next_lock(lock, now)
        looked_at += after != lock
        assert after.until is None or after.until <= now + LONGEST_LOCK
        lock = after

    assert looked_at == lock.locks * TRIES + lock.tries

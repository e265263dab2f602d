"""Wrong tries count once each, lock, outlive a restart, and are cleared by the right secret."""

from __future__ import annotations

import asyncio
import threading
from datetime import timedelta, timezone
from time import perf_counter

from app.people.checking import Checked, Locked, Verified, Wrong
from app.people.secrets import Busy, Hashing, Strength
from tests.people.conftest import NOON, SECRET, WRONG, House


def test_the_right_secret_is_verified(house: House) -> None:
    house.add("JB")

    assert house.check() == Verified("JB")


def test_another_persons_secret_is_wrong(house: House) -> None:
    house.add("JB")
    house.add("KM", secret="rain on the hall")

    assert house.check("JB", "rain on the hall") == Wrong("JB", 4)


def test_wrong_tries_are_counted_down_and_the_fifth_locks(house: House) -> None:
    house.add("JB")

    answers = [house.check(secret=WRONG) for _ in range(6)]

    assert answers[:4] == [Wrong("JB", left) for left in (4, 3, 2, 1)]
    assert answers[4:] == [Locked("JB", NOON + timedelta(minutes=10))] * 2
    assert house.events()[1:] == [
        ("PersonLocked", {"person": "JB", "until": "2026-12-01T12:10:00.000000Z", "locks": 1})
    ]


def test_a_locked_person_is_not_let_in_with_the_right_secret(house: House) -> None:
    house.add("JB")
    for _ in range(5):
        house.check(secret=WRONG)

    house.pass_time(minutes=9, seconds=59)
    assert house.check() == Locked("JB", NOON + timedelta(minutes=10))

    house.pass_time(seconds=1)
    assert house.check() == Verified("JB")


def test_one_persons_lock_shuts_nobody_else(house: House) -> None:
    house.add("JB")
    house.add("KM")
    for _ in range(5):
        house.check("JB", WRONG)

    assert house.check("KM") == Verified("KM")
    assert house.register.lockouts(house.now) == {"JB": NOON + timedelta(minutes=10)}


def test_the_second_lock_lasts_twice_as_long_and_the_right_secret_forgives_all(
    house: House,
) -> None:
    house.add("JB")
    for _ in range(5):
        house.check(secret=WRONG)
    house.pass_time(minutes=10)
    second = [house.check(secret=WRONG) for _ in range(5)]
    assert second[-1] == Locked("JB", house.now + timedelta(minutes=20))

    house.pass_time(minutes=20)
    assert house.check() == Verified("JB")
    third = [house.check(secret=WRONG) for _ in range(5)]
    assert third[-1] == Locked("JB", house.now + timedelta(minutes=10))


def test_a_restart_in_the_middle_of_wrong_tries_clears_nothing(house: House) -> None:
    house.add("JB")
    for _ in range(3):
        house.check(secret=WRONG)

    house.restart()
    assert house.check(secret=WRONG) == Wrong("JB", 1)

    house.restart()
    assert house.check(secret=WRONG) == Locked("JB", NOON + timedelta(minutes=10))

    house.restart()
    assert house.check() == Locked("JB", NOON + timedelta(minutes=10))


def test_a_keeper_unlocks_and_the_site_knows(house: House) -> None:
    house.add("JB")
    for _ in range(5):
        house.check(secret=WRONG)

    house.register.unlock("JB", by="KP")

    assert house.check() == Verified("JB")
    assert house.events()[-1] == ("PersonUnlocked", {"person": "JB"})


def test_unlocking_someone_who_is_not_locked_says_nothing(house: House) -> None:
    house.add("JB")

    house.register.unlock("JB", by="KP")

    assert [kind for kind, _ in house.events()] == ["PersonAdded"]


def test_a_new_secret_unlocks(house: House) -> None:
    house.add("JB")
    for _ in range(5):
        house.check(secret=WRONG)

    house.register.reset_secret("JB", "rain on the hall", by="KP")

    assert house.check(secret="rain on the hall") == Verified("JB")


def at_once(house: House, tries: list[str]) -> list[Checked]:
    async def crowd() -> list[Checked]:
        return list(
            await asyncio.gather(*(house.register.check("JB", each, house.now) for each in tries))
        )

    return asyncio.run(crowd())


def test_wrong_tries_at_the_same_moment_are_counted_once_each(house: House) -> None:
    house.add("JB")

    answers = at_once(house, [WRONG] * 4)

    left = sorted(answer.tries_left for answer in answers if isinstance(answer, Wrong))
    assert left == [1, 2, 3, 4]
    assert house.check(secret=WRONG) == Locked("JB", NOON + timedelta(minutes=10))


def test_a_flood_of_tries_finds_the_lock_after_five(house: House) -> None:
    house.add("JB")

    answers = at_once(house, [WRONG] * 20)

    assert sum(isinstance(answer, Wrong) for answer in answers) == 4
    assert sum(isinstance(answer, Locked) for answer in answers) == 16
    assert [kind for kind, _ in house.events()].count("PersonLocked") == 1


def test_the_right_secret_behind_five_wrong_ones_of_the_same_moment_is_not_let_in(
    house: House,
) -> None:
    # All six are looked at before any is settled: the queue of the writer decides.
    house.close()
    house.hashing = lambda: Hashing(Strength(memory_kib=8, passes=1), threads=1)
    house.open()
    house.add("JB")

    answers = at_once(house, [WRONG] * 5 + [SECRET])

    assert isinstance(answers[-1], Locked)


def test_more_at_once_than_can_wait_are_told_so_and_not_counted(house: House) -> None:
    house.close()
    hashing = Hashing(Strength(memory_kib=8, passes=1), threads=1, waiting=1)
    house.hashing = lambda: hashing
    house.open()
    house.add("JB")
    gate = threading.Event()

    async def crowd() -> list[Checked]:
        ahead = asyncio.create_task(hashing.run(gate.wait))
        await asyncio.sleep(0)
        refused = [await house.register.check("JB", WRONG, house.now) for _ in range(2)]
        gate.set()
        await ahead
        return refused

    assert asyncio.run(crowd()) == [Busy(), Busy()]
    assert house.check(secret=WRONG) == Wrong("JB", 4)


def test_nobody_by_that_id_is_answered_like_a_first_wrong_try_and_takes_as_long(
    house: House,
) -> None:
    house.close()
    house.hashing = Hashing
    house.open()
    house.add("JB")

    def fastest(person: str) -> float:
        times = []
        for _ in range(4):
            begun = perf_counter()
            house.check(person, WRONG)
            times.append(perf_counter() - begun)
        return min(times)

    known = fastest("JB")

    assert house.check("ZZ") == Wrong("ZZ", 4)
    # Without its hash the answer would come in a tenth of the time.
    assert fastest("ZZ") > known / 2


def test_a_hash_of_an_older_strength_is_renewed_by_the_right_secret(house: House) -> None:
    house.add("JB")
    house.close()
    house.hashing = lambda: Hashing(Strength(memory_kib=16, passes=1), threads=1)
    house.open()

    def kept() -> str:
        with house.ledger.reader() as connection:
            return str(connection.exec_driver_sql("SELECT secret_hash FROM people").scalar())

    assert "m=8," in kept()
    house.check(secret=WRONG)
    assert "m=8," in kept()
    assert house.check() == Verified("JB")
    assert "m=16," in kept()
    assert house.check() == Verified("JB")


def test_the_sentences_say_what_is_left_and_who_unlocks() -> None:
    assert Wrong("SL", 2).refusal().sentence == (
        "That secret is not SL's. 2 tries left, then SL is locked for 10 min."
    )
    assert Wrong("SL", 1, 240).refusal().sentence == (
        "That secret is not SL's. 1 try left, then SL is locked for 4 h."
    )
    assert Locked("SL", NOON).refusal(timezone(timedelta(hours=-2)), "keeper").sentence == (
        "SL is locked until 10:00 on 1 December after 5 wrong tries. "
        "A keeper can unlock at the desk. Stop work still works."
    )

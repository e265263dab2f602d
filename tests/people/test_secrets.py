"""A secret is long enough, not obvious, kept as a hash only, and checked without holding up pages."""

from __future__ import annotations

import asyncio
import threading
from time import perf_counter

import pytest

from app.people.secrets import Busy, Hashing, Strength, why_refused

CHEAP = Strength(memory_kib=8, passes=1)


@pytest.mark.parametrize(
    "secret",
    ["B7731 402915", "wind in the dome", "åtta tecken", "72930184", "x" * 200 + "yz"],
)
def test_eight_characters_or_a_badge_with_a_pin_are_taken(secret: str) -> None:
    assert why_refused(secret, "JB", "Jory Bray") == ""


@pytest.mark.parametrize(
    "secret",
    [
        "12345678", "87654321", "password", "PassWord1", "11111111", "12121212", "abcdefgh",
        "jorybray", "Jory Bray 1", "JBJBJBJB", "jb123456",
    ],
)  # fmt: skip
def test_what_anyone_would_try_first_is_refused(secret: str) -> None:
    assert why_refused(secret, "JB", "Jory Bray") == (
        "The secret is among the first that anyone would try. Choose another."
    )


def test_a_short_secret_is_refused_with_its_length() -> None:
    assert why_refused("4029156") == (
        "The secret has 7 characters. It must have at least 8, "
        "or be a badge code with a 6-digit PIN behind it."
    )


@pytest.mark.parametrize("secret", ["dome\0shutter", "dome\ud800shutter", "dome\x1bshutter"])
def test_nul_half_a_pair_and_control_signs_are_refused_and_match_nothing(secret: str) -> None:
    hashing = Hashing(CHEAP)

    assert "cannot be kept" in why_refused(secret)
    assert not hashing.matches(secret, hashing.hash(""))


def test_a_secret_too_long_to_be_one_is_refused_and_matches_nothing() -> None:
    hashing = Hashing(CHEAP)

    assert "longer than 256" in why_refused("ab" * 200)
    assert not hashing.matches("ab" * 200, hashing.hash("ab" * 200))


def test_only_the_same_secret_matches() -> None:
    hashing = Hashing(CHEAP)
    kept = hashing.hash("wind in the dome")

    assert hashing.matches("wind in the dome", kept)
    assert not hashing.matches("wind in the dom", kept)
    assert not hashing.matches("wind in the dome ", kept)
    assert not hashing.matches("wind in the dome", None)
    assert not hashing.matches("wind in the dome", "no hash at all")


def test_a_letter_typed_in_two_ways_is_one_letter() -> None:
    hashing = Hashing(CHEAP)

    assert hashing.matches("a\u030atta tecken", hashing.hash("\u00e5tta tecken"))


def test_the_hash_says_argon2id_at_the_strength_asked_for() -> None:
    # OWASP's password storage page: m=19456 (19 MiB), t=2, p=1.
    kept = Hashing().hash("wind in the dome")

    assert kept.startswith("$argon2id$v=19$m=19456,t=2,p=1$")
    assert Hashing(CHEAP).is_outdated(kept)
    assert not Hashing().is_outdated(kept)


def test_nobody_takes_as_long_as_somebody() -> None:
    hashing = Hashing()
    kept = hashing.hash("wind in the dome")

    def fastest(found: str | None) -> float:
        times = []
        for _ in range(5):
            begun = perf_counter()
            hashing.matches("wind in the hall", found)
            times.append(perf_counter() - begun)
        return min(times)

    # A check that skipped the hash would take a thousandth; half leaves room for a busy machine.
    assert fastest(None) > fastest(kept) / 2


def test_a_full_queue_answers_busy_at_once_and_has_room_again_afterwards() -> None:
    hashing = Hashing(CHEAP, threads=1, waiting=2)
    gate = threading.Event()

    async def crowd() -> tuple[object, list[object], object]:
        waiting = [asyncio.create_task(hashing.run(gate.wait)) for _ in range(2)]
        await asyncio.sleep(0)
        one_too_many = await hashing.run(gate.wait)
        gate.set()
        served: list[object] = list(await asyncio.gather(*waiting))
        return one_too_many, served, await hashing.run(lambda: "served")

    refused, served, later = asyncio.run(crowd())
    hashing.close()

    assert refused == Busy()
    assert served == [True, True]
    assert later == "served"

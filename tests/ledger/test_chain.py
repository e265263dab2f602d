from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path

import orjson
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.ledger.canonical import digest
from app.ledger.chain import GENESIS, Break, Link, first_break, stream_break
from app.ledger.database import FILE
from app.ledger.ledger import Head, Ledger, LedgerTrouble, Stored
from app.ledger.stored import seal
from tests.ledger.bench import NOON, RUN, Clock, a_draft, keep


def a_stream(length: int = 4) -> list[Stored]:
    head, events = Head(0, GENESIS), []
    for number in range(length):
        event = seal(a_draft(part=str(number)), f"key-{number}", NOON, head)
        head = Head(event.seq, event.hash)
        events.append(event)
    return events


def links(events: list[Stored]) -> list[Link]:
    return [Link(event.seq, event.prev, event.hash) for event in events]


def kept(events: list[Stored]) -> list[tuple[bytes, str]]:
    return [(event.canonical, event.hash) for event in events]


def test_a_chain_that_holds_has_no_break() -> None:
    assert first_break(links(a_stream())) is None
    assert stream_break(RUN, kept(a_stream())) is None
    assert first_break([]) is None


def test_a_missing_event_is_named() -> None:
    events = a_stream()
    del events[1]

    assert first_break(links(events)) == Break(3, "expected event 2, found 3.")


def test_the_first_event_follows_genesis_and_nothing_else() -> None:
    first, *_ = links(a_stream())

    assert first_break([Link(1, "f" * 64, first.hash)]) == Break(
        1, "event 1 does not follow event 0."
    )


def test_an_event_that_was_sealed_anew_breaks_the_chain_behind_it() -> None:
    events = a_stream()
    events[1] = seal(a_draft(part="99"), "key-1", NOON, Head(1, events[0].hash))

    assert stream_break(RUN, kept(events)) == Break(3, "event 3 does not follow event 2.", RUN)


def test_an_event_of_another_stream_is_named() -> None:
    events = a_stream()

    assert stream_break("run/R-0002", kept(events)) == Break(
        1, "event 1 belongs to run/R-0001.", "run/R-0002"
    )


def test_the_same_event_spelt_otherwise_is_named() -> None:
    events = a_stream(1)
    spelt = orjson.dumps(orjson.loads(events[0].canonical), option=orjson.OPT_INDENT_2)

    assert stream_break(RUN, [(spelt, digest(spelt))]) == Break(
        1, "event 1 is not in canonical form.", RUN
    )


STREAM = a_stream()


@given(
    which=st.integers(0, len(STREAM) - 1),
    place=st.integers(0, 10_000),
    flip=st.integers(1, 255),
)
def test_any_changed_byte_breaks_the_chain(which: int, place: int, flip: int) -> None:
    stored = kept(STREAM)
    content = bytearray(stored[which][0])
    content[place % len(content)] ^= flip
    stored[which] = (bytes(content), stored[which][1])

    assert stream_break(RUN, stored) is not None


@given(
    which=st.integers(0, len(STREAM) - 2), place=st.integers(0, 10_000), flip=st.integers(1, 127)
)
def test_a_changed_byte_with_a_hash_to_match_still_breaks_it(
    which: int, place: int, flip: int
) -> None:
    stored = kept(STREAM)
    content = bytearray(stored[which][0])
    content[place % len(content)] ^= flip
    stored[which] = (bytes(content), digest(bytes(content)))

    assert stream_break(RUN, stored) is not None


Damage = Callable[[sqlite3.Connection], object]


def damaged(folder: Path, damage: Damage) -> None:
    """Change the file as someone with the disk in hand could: the triggers do not stop them."""
    connection = sqlite3.connect(folder / FILE)
    connection.executescript(
        "DROP TRIGGER events_are_never_updated; DROP TRIGGER events_are_never_deleted"
    )
    damage(connection)
    connection.commit()
    connection.close()


@pytest.mark.parametrize(
    ("damage", "said"),
    [
        (
            "UPDATE events SET canonical = CAST(replace(canonical, '\"14\"', '\"15\"') AS BLOB) WHERE id = 3",
            "run/R-0001: event 2 is not what its hash was taken over.",
        ),
        (
            "UPDATE events SET hash = 'f' || substr(hash, 2) WHERE id = 3",
            "run/R-0001: event 2 is not what its hash was taken over.",
        ),
        (
            "UPDATE events SET by = 'XX' WHERE id = 3",
            "run/R-0001: event 2 does not say what its row says.",
        ),
        (
            "UPDATE events SET kind = 'X' WHERE id = 3",
            "run/R-0001: event 2 does not say what its row says.",
        ),
        (
            "UPDATE events SET at = '2026' WHERE id = 3",
            "run/R-0001: event 2 does not say what its row says.",
        ),
        (
            "UPDATE events SET seq = 9 WHERE id = 4",
            "run/R-0001: event 9 does not say what its row says.",
        ),
        ("DELETE FROM events WHERE id = 3", "run/R-0001: expected event 2, found 3."),
        (
            "UPDATE events SET canonical = x'00' WHERE id = 3",
            "run/R-0001: an event's bytes cannot be read.",
        ),
    ],
)
def test_verification_names_the_event_that_was_changed(
    folder: Path, clock: Clock, damage: str, said: str
) -> None:
    with Ledger.open(folder, clock) as ledger:
        keep(ledger, a_draft("site"), a_draft(), a_draft(), a_draft())
        assert ledger.verify() == []

    damaged(folder, lambda connection: connection.execute(damage))

    with Ledger.open(folder, clock) as ledger:
        assert [str(found) for found in ledger.verify()] == [said]


def test_a_damaged_event_is_not_read_as_if_nothing_were(folder: Path, clock: Clock) -> None:
    with Ledger.open(folder, clock) as ledger:
        keep(ledger)
    damaged(
        folder,
        lambda c: c.execute(
            "UPDATE events SET canonical = CAST(replace(canonical, '\"14\"', '\"15\"') AS BLOB)"
        ),
    )

    with Ledger.open(folder, clock) as ledger, pytest.raises(LedgerTrouble) as trouble:
        ledger.read(RUN)

    assert trouble.value.code == "corrupt"


@pytest.mark.parametrize(
    "content",
    [
        b"[]",
        b"{}",
        STREAM[0].canonical.replace(b'"seq":1', b'"seq":"1"'),
        STREAM[0].canonical.replace(b'"seq":1', b'"seq":true'),
        STREAM[0].canonical.replace(b'"v":1', b'"v":2'),
        STREAM[0].canonical.replace(b"12:00:00.000000Z", b"12:00:00.000000"),
        STREAM[0].canonical.replace(b"12:00:00.000000Z", b"12:00:00Z"),
        STREAM[0].canonical.replace(b'"by":"JB"', b'"by":null'),
    ],
)
def test_bytes_that_are_no_event_are_a_break_whatever_their_hash(content: bytes) -> None:
    assert stream_break(RUN, [(content, digest(content))]) == Break(
        0, "an event's bytes cannot be read.", RUN
    )


def test_a_float_with_a_hash_to_match_is_a_break() -> None:
    content = STREAM[0].canonical.replace(b'"part":"0"', b'"part":0.5')

    assert stream_break(RUN, [(content, digest(content))]) == Break(
        1, "event 1 is not in canonical form.", RUN
    )

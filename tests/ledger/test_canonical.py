"""The bytes an event is known by.

Source of the check values: RFC 8785, JSON Canonicalization Scheme, June 2020: the sample of
sections 3.2.2 (input) and 3.2.4 (bytes), and the sorting sample of section 3.2.3.
"""

from __future__ import annotations

import json
from datetime import datetime
from types import MappingProxyType
from typing import Any

import orjson
import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from app.ledger.canonical import (
    LARGEST,
    NotCanonicalError,
    by_the_book,
    canonical,
    is_canonical,
    time_text,
)
from tests.ledger.bench import NOON

SECTION_3_2_2 = r"""
{
  "numbers": [333333333.33333329, 1E30, 4.50,
              2e-3, 0.000000000000000000000000001],
  "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
  "literals": [null, true, false]
}
"""
SECTION_3_2_4 = bytes.fromhex(
    "7b 22 6c 69 74 65 72 61 6c 73 22 3a 5b 6e 75 6c 6c 2c 74 72"
    "75 65 2c 66 61 6c 73 65 5d 2c 22 6e 75 6d 62 65 72 73 22 3a"
    "5b 33 33 33 33 33 33 33 33 33 2e 33 33 33 33 33 33 33 2c 31"
    "65 2b 33 30 2c 34 2e 35 2c 30 2e 30 30 32 2c 31 65 2d 32 37"
    "5d 2c 22 73 74 72 69 6e 67 22 3a 22 e2 82 ac 24 5c 75 30 30"
    "30 66 5c 6e 41 27 42 5c 22 5c 5c 5c 5c 5c 22 2f 22 7d"
)
SECTION_3_2_3 = r"""
{
  "\u20ac": "Euro Sign",
  "\r": "Carriage Return",
  "\ufb33": "Hebrew Letter Dalet With Dagesh",
  "1": "One",
  "\ud83d\ude00": "Emoji: Grinning Face",
  "\u0080": "Control",
  "\u00f6": "Latin Small Letter O With Diaeresis"
}
"""
SECTION_3_2_3_ORDER = [
    "Carriage Return",
    "One",
    "Control",
    "Latin Small Letter O With Diaeresis",
    "Euro Sign",
    "Emoji: Grinning Face",
    "Hebrew Letter Dalet With Dagesh",
]

texts = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=20)
names = st.text(st.characters(max_codepoint=127, exclude_characters="\0"), max_size=8)
whole = st.integers(-LARGEST, LARGEST)
values = st.recursive(
    st.none() | st.booleans() | whole | texts,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(names, inner, max_size=4),
)


def test_the_library_gives_the_bytes_of_section_3_2_4() -> None:
    assert rfc8785.dumps(json.loads(SECTION_3_2_2)) == SECTION_3_2_4


def test_the_library_sorts_as_section_3_2_3() -> None:
    assert (
        list(json.loads(rfc8785.dumps(json.loads(SECTION_3_2_3))).values()) == SECTION_3_2_3_ORDER
    )


def test_our_rules_leave_the_text_of_section_3_2_4_as_it_is() -> None:
    sample = json.loads(SECTION_3_2_2)
    numbers = SECTION_3_2_4.index(b'"numbers"'), SECTION_3_2_4.index(b'"string"')
    del sample["numbers"]

    assert canonical(sample) == SECTION_3_2_4[: numbers[0]] + SECTION_3_2_4[numbers[1] :]


@pytest.mark.parametrize(
    ("body", "sentence"),
    [
        ({"load": 9.0}, "event.load: 9.0 is a float. Keep a measured value as text."),
        (
            {"a": [{"b": float("nan")}]},
            "event.a[0].b: nan is a float. Keep a measured value as text.",
        ),
        ({"text": "a\0b"}, "event.text: the text holds a NUL character."),
        ({"text": "é\0"}, "event.text: the text holds a NUL character."),
        ({"text": "\ud800"}, "event.text: the text holds half of a surrogate pair."),
        ({"größe": "1"}, "event: the field name 'größe' is not ASCII."),
        ({1: "1"}, "event: the field name 1 is not text."),
        ({"n": 2**53}, "event.n: 9007199254740992 is beyond 9007199254740991. Keep it as text."),
        (
            {"n": -(2**53)},
            "event.n: -9007199254740992 is beyond 9007199254740991. Keep it as text.",
        ),
        ({"at": NOON}, "event.at: datetime has no form in JSON."),
    ],
)
def test_what_is_not_kept_is_refused_with_its_place(body: dict[Any, Any], sentence: str) -> None:
    with pytest.raises(NotCanonicalError) as refused:
        canonical(body)

    assert str(refused.value) == sentence


def test_the_largest_whole_numbers_are_kept() -> None:
    assert canonical({"n": [LARGEST, -LARGEST]}) == b'{"n":[9007199254740991,-9007199254740991]}'


def test_a_time_without_a_zone_is_refused() -> None:
    with pytest.raises(NotCanonicalError, match="has no time zone"):
        time_text(datetime(2026, 11, 25))  # noqa: DTZ001 - the point of the test


@given(st.dictionaries(names, values, max_size=5))
def test_a_sorted_orjson_dump_gives_the_same_bytes(envelope: dict[str, Any]) -> None:
    content = canonical(envelope)

    assert orjson.dumps(envelope, option=orjson.OPT_SORT_KEYS) == content == rfc8785.dumps(envelope)
    assert is_canonical(content)


def test_what_is_not_quite_plain_is_written_by_the_book_the_same() -> None:
    plain = {"b": [1, 2], "a": {"x": "é", "y": None}}

    assert canonical(MappingProxyType(plain)) == canonical(plain) == by_the_book(plain)
    with pytest.raises(NotCanonicalError):
        canonical(MappingProxyType({"n": 1.5}))


@pytest.mark.parametrize(
    "content", [b'{"b":1,"a":2}', b'{"a": 1}', b'{"a":1.5}', b'{"a":1,"a":2}', b"{", b"\xff"]
)
def test_other_spellings_are_not_canonical(content: bytes) -> None:
    assert not is_canonical(content)

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest

from app.calculations.quantity import Quantity
from app.procedure.faults import Fault
from app.procedure.opening import open_text
from app.procedure.reading import Table


def opened(text: str) -> tuple[Table, list[Fault]]:
    table, faults = open_text(text, "x.toml", noun="step")
    assert table is not None
    return table, faults


def only(faults: list[Fault]) -> str:
    assert len(faults) == 1, faults
    return str(faults[0])


def test_every_getter_returns_what_was_written() -> None:
    table, faults = opened("""
do = "Hold for {at_least}."
list = ["a", "b"]
yes = true
n = 3
float = 9.0
typed = "9.10"
speed = "9.0 m/s"
at_least = "10 min"
""")

    assert table.text("do") == "Hold for 10 min."
    assert table.texts("list") == ("a", "b")
    assert table.flag("yes") is True
    assert table.whole("n") == 3
    assert str(table.number("float")) == "9.0"
    assert str(table.number("typed")) == "9.10"
    assert table.quantity("speed", "km/h") == Quantity(Decimal("9.0"), "m/s")
    assert table.quantity("speed", like=Quantity.parse("1 mm/s")) is not None
    assert table.duration("at_least") == timedelta(minutes=10)
    table.finish()
    assert faults == []


@pytest.mark.parametrize(
    ("text", "read", "sentence"),
    [
        ("k = 1", "text", 'x.toml:1: k: k must be a text, not a whole number. Write it in quotes, as k = "...".'),
        ("k = 'a'", "texts", 'x.toml:1: k: k must be a list of texts, not a text. Write it as k = ["...", "..."].'),
        ("k = 1", "flag", "x.toml:1: k: k must be true or false, not a whole number. Write k = true, or leave it out."),
        ("k = true", "whole", "x.toml:1: k: k must be a whole number, not true or false. Write it as k = 3."),
        ("k = nan", "number", "x.toml:1: k: k must be a number, not a word for no number. Write it as k = 9.0."),
        ("k = '1e3'", "number", "x.toml:1: k: k must be a number, not a text. Write it as k = 9.0."),
        ("k = 9.0", "quantity", 'x.toml:1: k: 9.0 has no unit. Write a number and a unit, as "9.0 m/s".'),
        ("k = '9.0 smoots'", "quantity", 'x.toml:1: k: "9.0 smoots" is not a number with a known unit. Write it as "9.0 m/s".'),
        ("k = '5 kg'", "duration", "x.toml:1: k: 5 kg does not measure what min measures. Give it in min, or in a unit of the same dimension."),
        ("k = '-5 min'", "duration", "x.toml:1: k: -5 min is less than nothing. Write a length of time."),
        ("k = 'N x m'", "unit", 'x.toml:1: k: "N x m" is not a known unit. Write it as "N m", "kN", "degC".'),
        ("k = 1", "table", "x.toml:1: k: k must be a table, not a whole number. Write it as k = { ... }."),
        ("k = {}", "tables", "x.toml:1: k: k must be a list of tables, not a table. Write it as k = [{ ... }]."),
        ("k = '{limit}'", "text", "x.toml:1: k: {limit} names no limit of this step. Name a limit of this step."),
    ],
)  # fmt: skip
def test_a_wrong_value_is_said_and_reading_goes_on(text: str, read: str, sentence: str) -> None:
    table, faults = opened(text)

    getattr(table, read)("k")

    assert only(faults) == sentence


def test_a_missing_key_is_said_at_the_table() -> None:
    table, faults = opened("\n[step]\nid = 'a'")
    step = table.table("step", noun="step")
    assert step is not None

    step.text("do", required=True)

    assert only(faults) == "x.toml:2: step.do: This step has no do. Add do."


def test_a_limit_named_in_a_text_brings_its_unit() -> None:
    table, _ = opened(
        "do = 'At most {at_most} of {n}, {in.at_least}.'\nat_most = 54.70\nn = 6\nunit = 'kN'\n[in]\nat_least = '1 s'"
    )

    assert table.text("do") == "At most 54.70 kN of 6, 1 s."


def test_an_unknown_key_is_refused_with_the_nearest_known_one() -> None:
    table, faults = opened("a = 1\nat_mots = 3\nzebra = 1")
    for key in ("a", "at_most", "at_least"):
        table.has(key)

    table.finish()

    assert [str(fault) for fault in faults] == [
        "x.toml:2: at_mots: at_mots is not a key of this step. Did you mean at_most?",
        "x.toml:3: zebra: zebra is not a key of this step. Take it out.",
    ]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("at_least = 5\nat_most = 3.0\nunit = 'kN'", "x.toml:1: at_least: No value can be at least 5 and at most 3.0. Put the lower limit in at_least."),
        ("at_most = 5", 'x.toml:1: at_most: This limit has no unit. Add unit = "...".'),
        ("unit = 'kN'", "x.toml:1: at_least: There is no limit. Write at_least, at_most, or both."),
        ("unit = 'N m'\nat_most = '5 kN'", "x.toml:2: at_most: 5 kN does not measure what N m measures. Give it in N m, or in a unit of the same dimension."),
        ("at_least = '5 kN'\nat_most = '5 N m'", "x.toml:2: at_most: 5 N m is not in kN. Give it in kN."),
    ],
)  # fmt: skip
def test_limits_that_cannot_be(text: str, sentence: str) -> None:
    table, faults = opened(text)

    table.limits(required=True)

    assert only(faults) == sentence


def test_limits_are_brought_to_one_unit() -> None:
    table, faults = opened("unit = 'kN'\nat_least = '38500 N'\nat_most = 42.60")

    assert table.limits().words() == "38.5 to 42.60 kN"
    assert faults == []


def test_a_ring_is_named_and_placed_clockwise() -> None:
    table, faults = opened(
        'r = { shape = "ring", count = 21, first = "4.29 deg", label = "B{:02d}" }\n'
        'c = { shape = "ring", count = 4, clockwise = false, label = "H{}" }'
    )

    ring, counter = table.layout("r"), table.layout("c")

    assert faults == []
    assert ring is not None
    assert counter is not None
    assert (ring.names[0], ring.names[20], len(ring.names)) == ("B01", "B21", 21)
    # Brackets 17.14 degrees apart, the first at 4.29: the demo's drawing, to its two decimals.
    assert ring.angles[0] == 4.29
    assert ring.angles[1] - ring.angles[0] == pytest.approx(17.14, abs=0.005)
    assert counter.names == ("H1", "H2", "H3", "H4")
    assert counter.angles == (0.0, 270.0, 180.0, 90.0)


def test_rings_and_lists_name_every_place_once() -> None:
    table, faults = opened(
        'r = { shape = "rings", counts = [9, 18, 27], label = "A{ring}-{place:02d}" }\n'
        'l = { shape = "list", names = ["x", "y"] }'
    )

    rings, listed = table.layout("r"), table.layout("l")

    assert faults == []
    assert rings is not None
    assert listed is not None
    assert (len(rings.names), len(set(rings.names)), rings.rings) == (54, 54, (9, 18, 27))
    assert (rings.names[0], rings.names[-1]) == ("A1-01", "A3-27")
    assert (listed.names, listed.angles) == (("x", "y"), ())


@pytest.mark.parametrize(
    ("layout", "sentence"),
    [
        ('{ shape = "rung" }', 'x.toml:1: k.shape: "rung" is not one of ring, rings, list. Did you mean ring?'),
        ('{ shape = "ring", count = 0 }', "x.toml:1: k.count: count is 0. It must be 1 to 999."),
        ('{ shape = "ring", count = 2, label = "B" }', 'x.toml:1: k.label: The label has no place for the number. Write it as label = "B{:02d}".'),
        ('{ shape = "ring", count = 2, label = "{0.__class__}" }', 'x.toml:1: k.label: The label has no place for the number. Write it as label = "B{:02d}".'),
        ('{ shape = "list", names = ["a", "a"] }', "x.toml:1: k.names: a names two places. Give every place a name of its own."),
        ('{ shape = "rings", counts = [3, 3], label = "{place}" }', "x.toml:1: k.label: 1 names two places. Give every place a name of its own."),
        ('{ shape = "rings", counts = [3, 0] }', "x.toml:1: k.counts: counts must be whole numbers from 1. Write counts = [9, 18, 27]."),
    ],
)  # fmt: skip
def test_a_layout_that_cannot_be(layout: str, sentence: str) -> None:
    table, faults = opened(f"k = {layout}")

    table.layout("k")

    assert sentence in [str(fault) for fault in faults]


def test_a_text_that_is_not_toml_is_one_fault_at_its_line() -> None:
    table, faults = open_text("a = 1\nb = = 2\n", "x.toml")

    assert table is None
    assert only(faults) == (
        "x.toml:2: text: The text is not TOML 1.0: Invalid value. "
        "Mend the line; nothing after it was read."
    )


def test_a_text_that_is_not_utf_8_is_one_fault_at_its_line() -> None:
    table, faults = open_text(b"a = 1\nb = '\xff'\n", "x.toml")

    assert table is None
    assert only(faults) == "x.toml:2: text: The text is not UTF-8. Save it as UTF-8."

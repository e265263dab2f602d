from __future__ import annotations

import tomllib
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.procedure.places import Path, places

TEXT = '''# a comment with [brackets] = "and more"
format = 1
"quoted key" = "a # no comment"
'literal key' = 'C:\\'
dotted.inner."third part" = true

[site] # the place
name = """
first line
[not.a.header]
also = "not a key" \\""" still """
path = \'\'\'
]]
\'\'\'

[[sections]]
title = "one"

[[sections.steps]]
id = "a"
fresh = [
  { reading = "gust", at_most = "9.0 m/s" }, # first
  { reading = "dew", age = "10 min" },
]
when = 2027-05-04T06:00:00Z

[[sections.steps]]
id = "b"
layout = { shape = "ring", names = ["x", "y"], inner = { deep = 1 } }

[[sections]]
title = "two"
[[sections.steps]]
id = "c"
empty = ""
[sections.steps.within]
of = "a"
'''

WHERE: list[tuple[Path, int]] = [
    (("format",), 2),
    (("quoted key",), 3),
    (("literal key",), 4),
    (("dotted",), 5),
    (("dotted", "inner", "third part"), 5),
    (("site",), 7),
    (("site", "name"), 8),
    (("site", "path"), 12),
    (("sections", 0), 16),
    (("sections", 0, "steps", 0), 19),
    (("sections", 0, "steps", 0, "fresh"), 21),
    (("sections", 0, "steps", 0, "fresh", 0, "at_most"), 22),
    (("sections", 0, "steps", 0, "fresh", 1, "age"), 23),
    (("sections", 0, "steps", 0, "when"), 25),
    (("sections", 0, "steps", 1, "id"), 28),
    (("sections", 0, "steps", 1, "layout", "inner", "deep"), 29),
    (("sections", 0, "steps", 1, "layout", "names", 1), 29),
    (("sections", 1, "title"), 32),
    (("sections", 1, "steps", 0, "id"), 34),
    (("sections", 1, "steps", 0, "empty"), 35),
    (("sections", 1, "steps", 0, "within", "of"), 37),
]


@pytest.mark.parametrize(("path", "line"), WHERE)
def test_each_key_stands_on_its_line(path: Path, line: int) -> None:
    assert places(TEXT)[path] == line


def test_lines_ended_by_carriage_returns_count_once() -> None:
    found = places(TEXT.replace("\n", "\r\n"))

    assert [found[path] for path, _ in WHERE] == [line for _, line in WHERE]


def keys(value: object, path: Path = ()) -> Iterator[Path]:
    """Every path of a parsed document that ends in a key."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield (*path, key)
            yield from keys(inner, (*path, key))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from keys(inner, (*path, index))


BARE = st.text("abcXYZ019_-", min_size=1, max_size=6)
LITERAL = st.text('ab =#[]{}.,"\\', max_size=6).map(lambda key: f"'{key}'")
BASIC = st.text("ab =#[]{}.,'é", max_size=6).map(lambda key: f'"{key}\\u0041"')
KEY = BARE | LITERAL | BASIC
STRINGS = (
    st.text("ab =#[]{}.,'", max_size=8).map(lambda text: f'"{text}\\""')
    | st.text('ab =#[]{}.,"\\', max_size=8).map(lambda text: f"'{text}'")
    | st.text("ab =#[]{}.,\n'", max_size=8).map(lambda text: f'"""{text}"""')
    | st.text('ab =#[]{}.,\n"', max_size=8).map(lambda t: "'''" + t.replace('"""', "") + "'''")
)
SCALARS = STRINGS | st.sampled_from(["1", "-2.5", "true", "1979-05-27T07:32:00Z", "[]", "{}"])


def inline(pairs: list[tuple[str, str]]) -> str:
    return "{ " + ", ".join(f"{key} = {value}" for key, value in pairs) + " }"


VALUES = st.recursive(
    SCALARS,
    lambda inner: (
        st.lists(inner, max_size=3).map(
            lambda each: "[ # opens\n" + ",\n".join(each) + ("," if each else "") + "\n]"
        )
        | st.lists(st.tuples(KEY, inner.filter(lambda v: "\n" not in v)), max_size=3).map(inline)
    ),
    max_leaves=6,
)
PAIRS = st.lists(
    st.tuples(st.lists(KEY, min_size=1, max_size=2).map(" . ".join), VALUES), max_size=4
)


@st.composite
def documents(draw: st.DrawFn) -> str:
    lines = [f"{key} = {value} # end" for key, value in draw(PAIRS)]
    for header in draw(st.lists(KEY, max_size=3, unique=True)):
        for _ in range(draw(st.integers(1, 2))):
            lines += ["", f"[[ {header} ]]"]
            lines += [f"\t{key}={value}" for key, value in draw(PAIRS)]
    return "\n".join(lines) + "\n"


def is_toml(text: str) -> bool:
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return False
    return True


@given(documents().filter(is_toml))
def test_the_line_of_every_key_holds_that_key(text: str) -> None:
    lines = text.split("\n")
    document: dict[str, Any] = tomllib.loads(text)

    found = places(text)

    for path in keys(document):
        written = str(path[-1]).replace("A", "")  # the escaped letter of a quoted key
        line = lines[found[path] - 1]
        assert written in line, (path, line)

"""Small procedures drawn by lot, and some written by hand, on a site with three facts."""

from __future__ import annotations

from hypothesis import strategies as st

from app.procedure.model import FactValue
from tests.proof.texts import SITE, the_site

SMALL_SITE = the_site(
    SITE[: SITE.index("[asset.primary.facts]")]
    + """[asset.primary.facts]
a = { from = 0, to = 2, now = 2 }
b = { values = ["no", "yes"], now = "no" }
c = { values = ["no", "yes"], now = "no" }
[[asset.primary.hazards]]
id = "first"
harm = "It breaks."
never = { a = { at_least = 1 }, b = "yes" }
people = 1
[[asset.primary.hazards]]
id = "second"
harm = "It burns."
never = { c = "yes", b = { not = "yes" } }
people = 1
"""
)
VALUES: dict[str, tuple[FactValue, ...]] = {"a": (0, 1, 2), "b": ("no", "yes"), "c": ("no", "yes")}
TESTS = (
    *(
        f"{fact} = {value!r}".replace("'", '"')
        for fact, values in VALUES.items()
        for value in values
    ),
    "a = { at_least = 1 }",
    "a = { at_most = 1 }",
    'b = { not = "yes" }',
)
SETS = tuple(test for test in TESTS if "{" not in test)


def _conditions(written: tuple[str, ...], most: int) -> st.SearchStrategy[list[str]]:
    return st.lists(st.sampled_from(written), max_size=most, unique_by=lambda test: test[0])


HEAD = """format = 1
id = "QP-9"
revision = 1
title = "By lot"
asset = "primary"
purpose = "To be played out."
planned = "1 h"
safe_state = "At rest."
crew = { technician = 1, lead = 1 }
"""
KINDS = ('kind = "tick"', 'kind = "tick"\nsign = ["technician", "lead"]\ncheck = "before"')
USUAL = (  # what a procedure is made of: lots alone mostly draw steps that never open
    "sets = { a = 0 }",
    "confirms = { a = 0 }",
    'needs = { a = 0 }\nsets = { b = "yes" }',
    'confirms = { a = 0 }\nsets = { b = "yes" }',
    'sets = { b = "yes" }',
    'confirms = { b = "yes" }',
    'needs = { b = "yes" }\nsets = { c = "yes" }',
    'confirms = { b = "yes" }\nsets = { c = "yes" }',
    'sets = { a = 0, b = "yes" }',
    'sets = { c = "no" }',
)
STARTS = ['a = 2, b = "no", c = "no"', 'a = 1, b = "no"', 'a = 0, b = "yes", c = "no"', ""]


@st.composite
def _steps(draw: st.DrawFn, name: str, earlier: list[str]) -> str:
    lines = ["[[sections.steps]]", f'id = "{name}"', 'do = "Look."', draw(st.sampled_from(KINDS))]
    usual: bool = draw(st.sampled_from([True, True, True, False]))
    lines += [draw(st.sampled_from(USUAL)) if usual else draw(_odd())]
    waits: bool = draw(st.sampled_from([True, False, False, False]))
    if earlier and waits:
        lines += [f'after = ["{draw(st.sampled_from(earlier))}"]']
    return "\n".join(lines)


@st.composite
def _odd(draw: st.DrawFn) -> str:
    """Return needs, confirms and sets by lot."""
    drawn = {
        "needs": draw(_conditions(TESTS, 1)),
        "confirms": draw(_conditions(TESTS, 2)),
        "sets": draw(_conditions(SETS, 2)),
    }
    return "\n".join(f"{key} = {{ {', '.join(found)} }}" for key, found in drawn.items() if found)


@st.composite
def texts_by_lot(draw: st.DrawFn) -> str:
    text = HEAD
    usual: bool = draw(st.booleans())
    starts = draw(st.sampled_from(STARTS)) if usual else ", ".join(draw(_conditions(TESTS, 3)))
    leaves = ", ".join(draw(_conditions(TESTS, 1)))
    text += f"starts_with = {{ {starts} }}\nleaves = {{ {leaves} }}\n"
    head, text, number = text, "", 0
    for section, many in enumerate(
        draw(st.sampled_from([(1,), (2,), (3,), (1, 2), (2, 1), (1, 3), (4,)]))
    ):
        order = draw(st.sampled_from(["strict", "any", "any"]))
        text += f'[[sections]]\ntitle = "S{section}"\norder = "{order}"\n'
        names = [f"s{number + i}" for i in range(many)]
        for i, name in enumerate(names):
            others = names[:i] + (names[i + 1 :] if order == "any" else [])
            text += draw(_steps(name, others)) + "\n"
        number += many
    return head + draw(_choice(number)) + text


@st.composite
def _choice(draw: st.DrawFn, steps: int) -> str:
    """Return a first section in which one of two ways is chosen, or nothing."""
    ways = draw(st.lists(st.sampled_from(["one", "two", ""]), min_size=steps, max_size=steps))
    chosen: bool = draw(st.sampled_from([True, False, False]))
    if not chosen or not any(ways):
        return ""
    branches = []
    for way in ("one", "two"):
        mine = ", ".join(f'"s{i}"' for i, each in enumerate(ways) if each == way)
        branches.append(f'{{ name = "{way}", steps = [{mine}] }}')
    return (
        '[[sections]]\ntitle = "Choose"\n[[sections.steps]]\nid = "pick"\nkind = "choose"\n'
        f'do = "Choose the way on."\nbranches = [{", ".join(branches)}]\n'
    )


def _written(*sections: tuple[str, str], starts: str = STARTS[0]) -> str:
    """Return a procedure of sections, each an order and its steps' own keys with bars between."""
    text, number = HEAD + f"starts_with = {{ {starts} }}\n", 0
    for order, steps in sections:
        text += f'[[sections]]\ntitle = "S"\norder = "{order}"\n'
        for keys in steps.split("|"):
            text += f'[[sections.steps]]\nid = "s{number}"\ndo = "Look."\nkind = "tick"\n{keys}\n'
            number += 1
    return text


# Each of these goes wrong if one rule of what commutes in a section of free order is forgotten.
BEFORE_ITS_CONFIRMATION = _written(
    ("strict", "sets = { a = 0 }"), ("any", 'confirms = { a = 0 }|sets = { b = "yes" }')
)
BEFORE_IT_IS_FREE = _written(("any", 'sets = { a = 0 }|sets = { b = "yes" }'))
WHILE_IT_IS_SO = _written(("any", 'sets = { b = "yes" }|needs = { b = "no" }'))
ONE_AFTER_ANOTHER = _written(("any", 'sets = { a = 0 }\nafter = ["s1"]|sets = { c = "yes" }'))
DONE_OR_PASSED_OVER = _written(
    ("strict", 'sets = { c = "yes" }|sets = { b = "no" }'), starts=STARTS[2]
).replace(
    '[[sections]]\ntitle = "S"',
    """[[sections]]
title = "Choose"
[[sections.steps]]
id = "pick"
kind = "choose"
do = "Choose the way on."
branches = [{ name = "past", steps = [] }, { name = "through", steps = ["s0"] }]
[[sections]]
title = "S\"""",
    1,
)

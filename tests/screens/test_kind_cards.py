"""Every kind's template prints its card, before anything was entered and after, good and out."""

from __future__ import annotations

import re
from pathlib import Path
from types import SimpleNamespace

import pytest
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from app.procedure.drawn.drawings import drawn
from app.procedure.kind import Card
from app.procedure.registry import kinds
from tests.procedure.kinds.stand import Stand, step_of

TEMPLATES = Environment(
    loader=FileSystemLoader(Path(__file__).resolve().parents[2] / "templates"),
    undefined=StrictUndefined,
    autoescape=True,
)
RING = 'layout = { shape = "ring", count = 3, label = "B{:02d}" }'
CELLS = """
cells = { shape = "ring", count = 3, label = "C{}" }
unit = "kN"
radius = "2 m"
share = "5 %"
centre = "20 mm"
"""
SHA = "a" * 64
Entered = tuple[tuple[dict[str, str], str], ...]

TRIED: dict[str, tuple[str, Entered]] = {
    "tick": ("", (({}, ""),)),
    "reading": ('unit = "mm"\nat_most = 0.5', (({"value": "0.4"}, ""), ({"value": "0.6"}, ""))),
    "count": ('of = "bolts"\nexpect = 2', (({"count": "3"}, ""), ({"count": "2"}, ""))),
    "items": (
        f'{RING}\nresults = ["off", "seized"]\nunit = "N"\nat_most = 3',
        (({"result": "off", "value": "1"}, "B01"), ({"result": "seized", "value": "4"}, "B02")),
    ),
    "loads": (
        CELLS,
        (
            ({"C1": "6", "C2": "6", "C3": "6"}, ""),
            ({"C1": "6", "C2": "6", "C3": "9"}, ""),
            ({"C1": "0", "C2": "0", "C3": "0"}, ""),
        ),
    ),
    "dwell": ('at_most = "5 min"', (({}, "start"), ({}, "stop"))),
    "photo": ('views = ["East", "West"]', (({"photo": SHA}, "East"),)),
    "serial": ('expect = ["S-1", "S-2"]', (({"serial": "S-9"}, "item 1"),)),
    "calculation": (
        'calculation = "tally"\ninputs = { installed = 3, in_place = 0, removed = "typed" }',
        (({"removed": "2"}, ""), ({"removed": "3"}, "")),
    ),
    "brief": ('topics = ["Who stops work."]', (({}, "JB"),)),
    "hold": ('statement = "Nothing holds it."\nevidence = ["gone"]\nat_mirror = true', ()),
    "torque": (
        'bolts = { shape = "ring", count = 3, label = "{}" }\nunit = "N m"\ntolerance = "5 %"\n'
        'pattern = "cross"\npasses = [24]\nverify = "5 deg"',
        (
            ({"value": "24"}, "1, pass 1"),
            ({"value": "20"}, "2, pass 1"),
            ({"value": "24"}, "2, pass 1"),
            ({"value": "24"}, "3, pass 1"),
            ({"value": "1"}, "1, check"),
            ({"value": "1"}, "2, check"),
            ({"value": "1"}, "3, check"),
        ),
    ),
    "trend": (
        'unit = "mbar"\nat_most = 1\nevery = "0 s"\nlate = "1 h"\ntimes = 2',
        (({"value": "2"}, "1"), ({"value": "1"}, "2"), ({"value": "1"}, "3")),
    ),
    "gate": (
        'readings = [{ reading = "gust", unit = "m/s", at_most = 8, age = "5 min" }]',
        (({"value": "9"}, "gust"), ({"value": "3"}, "gust"), ({}, "passed")),
    ),
    "tools-out": (
        'zone = "z"\nthings = ["W"]\ncounted = { sponges = 4 }',
        (({"result": "out"}, "W"), ({"count": "4"}, "sponges")),
    ),
    "tools-in": ('of = "out"\nwrite_off = "technician"', (({"result": "back"}, "W"),)),
    "isolate": (
        'points = ["Q4", "V2"]',
        (({"lock": "1", "try_out": "not dead"}, "Q4"), ({"lock": "2", "try_out": "dead"}, "V2")),
    ),
    "restore": ('of = "on"\nwithout_owner = "technician"', (({"lock": "1"}, "Q4"),)),
    "choose": (
        'branches = [{ name = "accept" }, { name = "again", steps = ["gone"] }]',
        (({"branch": "accept", "why": "Good"}, ""),),
    ),
    "handover": ("", (({"state": "Wet"}, ""),)),
    "permit": (
        'papers = ["Permit", "Certificate"]\nvalid_for = "1 h"',
        (
            ({"number": "1", "until": "2027-05-01", "standing": "in force"}, "Permit"),
            ({"number": "1", "until": "2028-05-01", "standing": "in force"}, "Permit"),
        ),
    ),
    "area": ('area = "chamber"', (({"count": "1"}, ""), ({"count": "0"}, ""))),
    "log": (
        'points = ["A", "B"]\nvalues = [{ name = "tilt", unit = "deg", at_most = 1 }]',
        (({"tilt": "2"}, "A"), ({"tilt": "1"}, "A"), ({"tilt": "1"}, "B")),
    ),
    "batch": (
        'recipe = [{ what = "water", amount = "79 l" }]\nmakes = "90 l"\ntolerance = "2 %"',
        (({"number": "B"}, "batch"), ({"value": "1"}, "water"), ({"value": "79"}, "water")),
    ),
    "defects": (
        'known = [{ name = "A", angle = 1, radius = 2, size = 3 }]\nlargest = "5 mm"',
        (
            ({"size": "6"}, "A"),
            ({"size": "3"}, "A"),
            ({"size": "3", "angle": "4", "radius": "5"}, "new 1"),
            ({}, "map"),
        ),
    ),
}


def printed(card: Card, stand: Stand, refusal: object = None) -> str:
    """Return what the kind's template prints, with its drawings worked out as the bench does."""
    shown = SimpleNamespace(
        **{name: getattr(card, name) for name in Card.__dataclass_fields__ if name != "drawings"},
        drawings=tuple(drawn(each) for each in card.drawings),
    )
    bench = SimpleNamespace(refusal=refusal)
    template = TEMPLATES.get_template(f"kinds/{stand.step.kind}.html")
    return template.render(card=shown, step=stand.step, typed={}, bench=bench)


def stand_for(kind: str) -> Stand:
    """Return a stand for a step of a kind, with steps before it that it may rest on."""
    gone = step_of("tick", id="gone")
    out = step_of("tools-out", 'zone = "z"\nthings = ["W", "H"]', id="out")
    on = step_of("isolate", 'points = ["Q4"]', id="on")
    roles = {"JB": frozenset({"technician"})}
    stand = Stand(
        step_of(kind, TRIED[kind][0], number=2),
        others=[gone, out, on],
        crew={"technician": 2},
        roles=roles,
    )
    for other, part, values in (
        (out, "W", {"result": "out"}),
        (out, "H", {"result": "out"}),
        (on, "Q4", {"lock": "1", "try_out": "dead"}),
    ):
        Stand(other, entries=stand.entries, roles=roles).enter(values, part)
    return stand


def test_every_kind_is_tried() -> None:
    assert set(TRIED) == set(kinds())


@pytest.mark.parametrize("kind", sorted(TRIED))
def test_the_card_prints_at_every_stage(kind: str) -> None:
    stand = stand_for(kind)
    pages = [printed(stand.card(), stand)]
    for values, part in TRIED[kind][1]:
        stand.enter(values, part)
        pages.append(printed(stand.card(), stand))

    for field in stand.card().fields:
        assert f'name="values.{field.name}"' in pages[-1]
    for page in pages:
        assert not re.search(r'<input[^>]*type="text"[^>]*value="[^"]+"', page)  # never prefilled
        assert "None" not in page
        assert page.count("<div") == page.count("</div>")


@pytest.mark.parametrize("kind", sorted(TRIED))
def test_the_template_says_what_it_takes(kind: str) -> None:
    source = TEMPLATES.loader
    assert isinstance(source, FileSystemLoader)
    text, _, _ = source.get_source(TEMPLATES, f"kinds/{kind}.html")

    assert re.match(r"\{# .+ Takes card, step.*#\}\n", text)
    assert len(text.splitlines()) <= 80


def test_what_people_wrote_is_escaped() -> None:
    topics = 'topics = ["<script>alert(1)</script>"]'
    stand = Stand(step_of("brief", topics))

    assert "<script>" not in printed(stand.card(), stand)


def test_a_slip_can_be_sent_again_and_only_then() -> None:
    stand = Stand(step_of("reading", 'unit = "mm"\nusual = { at_most = 1 }'))
    slip = SimpleNamespace(code="reading.slip")

    assert "values.sure" not in printed(stand.card(), stand)
    assert "values.sure" in printed(stand.card(), stand, slip)


@pytest.mark.parametrize("number", ["7193", "7194"])
def test_a_blind_page_is_the_same_whatever_was_counted(number: str) -> None:
    keys = 'of = "brackets"\nexpect = 7193\nstarts = ["A", "B"]'
    seats = ("technician", "technician")
    stand = Stand(step_of("count", keys, check="independent", seats=seats))
    before = printed(stand.card(), stand)
    stand.enter({"count": number})

    after = printed(stand.card(), stand)

    assert before == after
    assert "719" not in before


def test_a_place_can_be_chosen() -> None:
    stand = stand_for("items")

    assert "What did you find at B02?" in printed(stand.card("B02"), stand)

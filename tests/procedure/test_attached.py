"""The tool and the photos that any step can ask for."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.procedure.attached import attached_fields, attached_missing, attached_words
from tests.procedure.kinds.stand import Stand, step_of

PLAIN = step_of("tick")
SHOTS = replace(PLAIN, photo=2)
TOOLED = replace(PLAIN, tool="torque wrench")
ONE, TWO = "a" * 64, "b" * 64


def test_a_plain_step_asks_for_nothing() -> None:
    assert attached_fields(PLAIN) == ()
    assert attached_missing(PLAIN, {}) is None


def test_each_thing_has_its_field() -> None:
    step = replace(SHOTS, tool="torque wrench")

    assert [f.name for f in attached_fields(step)] == ["tool", "photo", "photo2"]
    assert attached_fields(step)[0].label == "Serial of the torque wrench"


@pytest.mark.parametrize("tool", ["", " ", "x" * 41, "TW\n03"])
def test_the_tool_must_be_named(tool: str) -> None:
    missing = attached_missing(TOOLED, {"tool": tool})

    assert missing is not None
    assert missing.code == "tool.missing"
    assert missing.sentence == (
        "The torque wrench is not named. Type or scan its serial. Nothing was saved."
    )


def test_a_named_tool_will_do() -> None:
    assert attached_missing(TOOLED, {"tool": "TW-03"}) is None


PHOTOS: tuple[tuple[dict[str, str], int], ...] = (
    ({}, 0),
    ({"photo": ONE}, 1),
    ({"photo": ONE, "photo2": ONE}, 1),  # the same picture twice is one picture
    ({"photo": ONE, "photo2": "b" * 63}, 1),
    ({"photo": ONE, "photo3": TWO}, 1),
)


@pytest.mark.parametrize(("values", "taken"), PHOTOS)
def test_every_photo_is_a_picture_of_its_own(values: dict[str, str], taken: int) -> None:
    missing = attached_missing(SHOTS, values)

    assert missing is not None
    assert missing.code == "photo.missing"
    assert f"2 different photos are asked for, and there are {taken}." in missing.sentence


def test_as_many_photos_as_asked_for_will_do() -> None:
    assert attached_missing(SHOTS, {"photo": ONE, "photo2": TWO}) is None
    assert attached_missing(replace(PLAIN, photo=1), {"photo": ONE}) is None


def test_the_record_names_what_is_attached() -> None:
    entry = Stand(PLAIN).enter({"tool": "TW-03", "photo": ONE, "photo2": TWO})

    assert list(attached_words(entry)) == ["with TW-03", "2 photos"]

from __future__ import annotations

import pytest

from tests.procedure.kinds.stand import Stand, step_of, told

VIEWS = 'views = ["Edge from 12", "Edge from 4"]'
ONE, TWO = "a" * 64, "b" * 64


def test_each_view_needs_a_photo_of_its_own() -> None:
    stand = Stand(step_of("photo", VIEWS))

    stand.enter({"photo": ONE}, "Edge from 12")
    assert stand.missing() == "Not entered yet: Edge from 4."
    assert stand.refused({"photo": ONE}, "Edge from 4").code == "photo.same"

    stand.enter({"photo": TWO}, "Edge from 4")
    assert stand.missing() == ""
    assert stand.lines()[1].value == f"SHA-256 {TWO}; 1 photo"


@pytest.mark.parametrize(
    "photo", ["", "a" * 63, "A" * 64, "g" * 64, "/etc/passwd", "a" * 64 + "\n"]
)
def test_a_photo_is_named_by_its_fingerprint(photo: str) -> None:
    stand = Stand(step_of("photo", VIEWS))

    assert stand.refused({"photo": photo}, "Edge from 12").code == "photo.missing"


def test_a_view_that_is_not_asked_for_is_refused() -> None:
    stand = Stand(step_of("photo", VIEWS))

    assert stand.refused({"photo": ONE}, "Edge from 8").code == "photo.unknown"


def test_the_frame_asks_for_the_photo_where_the_step_does() -> None:
    alone, framed = (Stand(step_of("photo", VIEWS, photo=n)).card() for n in (0, 1))

    assert [field.name for field in alone.fields] == ["photo"]
    assert framed.fields == ()


@pytest.mark.parametrize("keys", ["views = []", 'views = ["a", "a"]', ""])
def test_views_are_named_once(keys: str) -> None:
    assert told("photo", keys)

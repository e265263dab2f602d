"""A slice of what `python -m tests.fuzz` does at length: bad input everywhere, by lot."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from fastapi import FastAPI
from PIL import Image

from tests.fuzz import surfaces
from tests.fuzz.door import a_request
from tests.fuzz.surfaces import Case, found_wrong
from tests.screens.conftest import Tablets


def photos() -> tuple[bytes, ...]:
    """Return small real photos of each kind that is taken."""
    made = []
    for kind in ("JPEG", "PNG", "WEBP"):
        kept = io.BytesIO()
        Image.new("RGB", (32, 24), (90, 60, 30)).save(kept, kind)
        made.append(kept.getvalue())
    return tuple(made)


def wrongs(case: Case, cases: range) -> list[str]:
    return [f"seed {seed}: {wrong}" for seed in cases if (wrong := found_wrong(case, seed))]


@pytest.mark.parametrize(
    ("case", "count"),
    [
        (surfaces.a_site, 300),
        (surfaces.a_procedure, 300),
        (surfaces.a_toml_value, 300),
        (surfaces.a_check, 60),
        (surfaces.a_photo(photos()), 300),
    ],
    ids=["site", "procedure", "value", "check", "photo"],
)
def test_a_text_or_photo_that_is_wrong_is_told_so(case: Case, count: int) -> None:
    assert wrongs(case, range(count)) == []


@pytest.mark.parametrize("first", range(0, 800, 100))
def test_a_request_that_is_wrong_is_told_so(app: FastAPI, tablets: Tablets, first: int) -> None:
    case = a_request(app, tablets("AB"))

    assert wrongs(case, range(first, first + 100)) == []


def test_a_changed_paper_is_never_called_whole(demo_made: Path) -> None:
    paper = next((demo_made / "records").rglob("*.pdf")).read_bytes()

    assert wrongs(surfaces.a_paper(paper), range(40)) == []

"""The sheet of paper that a crew goes on with; what a home screen needs."""

from __future__ import annotations

from tests.screens.conftest import EXPECTED, Tablets
from tests.screens.visitor import words


def test_the_sheet_has_every_step_with_room_to_write_and_every_seat(
    tablets: Tablets, run: str
) -> None:
    answer = tablets("AB").get(f"/runs/{run}/sheet")
    page = words(answer.text)

    assert answer.status_code == 200
    for number, do in ((2, "Read the gust at the mast."), (8, "Take the load on the hooks.")):
        assert f"{number}. {do}" in page
    assert all(bracket in page for bracket in ("B01", "B02", "B03"))
    assert page.count("technician: signed at") == 6  # three counts, the gap, the hold, the lift
    assert f"Sheet {run} QP-9-1 " in page


def test_the_sheet_shows_nothing_that_was_entered_and_no_expected_number(
    tablets: Tablets, run: str
) -> None:
    visitor = tablets("AB")
    assert visitor.enter(run, "wind", value="4.27").status_code == 200

    page = visitor.get(f"/runs/{run}/sheet").text

    assert "4.27" not in page
    assert EXPECTED not in page


def test_a_home_screen_gets_a_name_a_start_and_pictures_that_are_there(tablets: Tablets) -> None:
    visitor = tablets()
    told = visitor.get("/manifest.webmanifest")

    assert told.headers["content-type"] == "application/manifest+json"
    assert (told.json()["display"], told.json()["start_url"]) == ("standalone", "/")
    for icon in told.json()["icons"]:
        assert visitor.get(icon["src"]).headers["content-type"] == "image/png"


def test_the_worker_holds_every_file_that_a_page_is_drawn_with(tablets: Tablets, run: str) -> None:
    visitor = tablets("AB")
    shell = visitor.get("/worker.js").text.partition("\n")[0]
    page = visitor.get(f"/runs/{run}").text
    drawn_with = {part.partition("?")[0] for part in page.split('"') if part.startswith("/static/")}

    assert drawn_with
    assert {each for each in drawn_with if f'"{each}"' not in shell} == set()
    for path in shell.split('"')[1::2][:-1]:
        assert visitor.get(path).status_code == 200, path

"""The crew's sums: found, typed, worked out, printed; nothing is kept, nobody unsigned reads them."""

from __future__ import annotations

import re

import pytest

from app.calculations.catalogue import CALCULATIONS
from app.desk.desk import Desk
from tests.calculations.examples import EXAMPLES
from tests.screens.conftest import Tablets
from tests.screens.visitor import JSON, words
from tests.web.test_templates import INLINE

TRAILER = {**EXAMPLES["lashing-direct"], "lashings": "2"}


def test_whoever_is_not_signed_on_sees_no_sums(tablets: Tablets) -> None:
    nobody = tablets()

    assert nobody.get("/sums").status_code == 401
    assert nobody.get("/sums/dew-point", params=EXAMPLES["dew-point"]).status_code == 401


def test_today_leads_to_every_sum(tablets: Tablets) -> None:
    tablet = tablets("AB")

    assert 'href="/sums"' in tablet.get("/").text
    page = tablet.get("/sums").text
    assert set(re.findall(r'href="/sums/([a-z-]+)"', page)) == set(CALCULATIONS)


def test_a_sum_is_found_by_its_subject(tablets: Tablets) -> None:
    tablet = tablets("AB")

    found = re.findall(r'href="/sums/([a-z-]+)"', tablet.get("/sums?find=SUN").text)
    nothing = words(tablet.get("/sums?find=tarot").text)

    assert found == ["sun-altitude", "sun-rise-set", "sun-until"]
    assert 'No sum holds "tarot".' in nothing.replace("&#34;", '"')


@pytest.mark.parametrize("name", CALCULATIONS)
def test_every_sum_is_worked_out_on_its_page(tablets: Tablets, name: str) -> None:
    tablet = tablets("AB")

    empty = tablet.get(f"/sums/{name}")
    worked = tablet.get(f"/sums/{name}", params=EXAMPLES[name])
    data = tablet.get(f"/sums/{name}", params=EXAMPLES[name], headers=JSON).json()

    assert (empty.status_code, worked.status_code) == (200, 200)
    assert 'id="worked"' not in empty.text
    fields = re.findall(r'<(?:input|select) id="f-([a-z_]+)"', empty.text)
    assert sorted(fields) == sorted(each.name for each in CALCULATIONS[name].inputs)
    assert set(re.findall(r'<label class="lab" for="f-([a-z_]+)"', empty.text)) == set(fields)
    page = words(worked.text)
    assert data["result"]["value"] in page
    assert "Worked out for AB, " in page
    assert INLINE.findall(worked.text) == []


def test_the_working_and_the_verdict_are_shown(tablets: Tablets) -> None:
    tablet = tablets("AB")

    page = words(tablet.get("/sums/lashing-direct", params=TRAILER).text)

    assert "2 lashings hold 86.47 kN against 86.91 kN: not enough." in page
    assert "2 x 63 kN x 0.6863 = 86.47 kN." in page
    assert "EN 12195-1:2010" in page
    assert "A competent person secures the load" in page


def test_what_cannot_be_used_is_said_where_it_was_typed(tablets: Tablets) -> None:
    tablet = tablets("AB")

    answer = tablet.get("/sums/dew-margin", params={"temperature": "1,234", "humidity": "200"})

    assert answer.status_code == 422
    page = words(answer.text).replace("&#34;", '"')
    assert 'Air temperature: "1,234" can be read two ways. Type 1.234 or 1234.' in page
    assert "Relative humidity: 200 %. This sum is good for 1 to 100 %." in page
    assert "Temperature of the glass: Nothing was typed." in page
    assert 'value="1,234"' in answer.text  # what was typed stays
    assert 'id="worked"' not in answer.text


def test_a_sum_without_a_result_says_why(tablets: Tablets) -> None:
    tablet = tablets("AB")
    typed = {**EXAMPLES["pump-down"], "end": "101300"}

    answer = tablet.get("/sums/pump-down", params=typed)

    assert answer.status_code == 422
    assert "No result. The pressure at the end must be below that at the start." in words(
        answer.text
    )


@pytest.mark.parametrize(
    ("path", "status"),
    [("/sums/tarot", 404), ("/sums/dew-point?temperature=" + "1" * 2000, 422)],
)
def test_what_is_no_sum_is_turned_away(tablets: Tablets, path: str, status: int) -> None:
    assert tablets("AB").get(path).status_code == status


def test_what_others_would_write_into_a_page_stays_text(tablets: Tablets) -> None:
    tablet = tablets("AB")

    page = tablet.get("/sums/dew-point", params={"temperature": '"><script>x</script>'}).text

    assert "<script>x" not in page


def test_a_sum_keeps_nothing(tablets: Tablets, desk: Desk) -> None:
    tablet = tablets("AB")
    before = len(list(desk.ledger.read_all()))

    tablet.get("/sums/lashing-direct", params=TRAILER)

    assert len(list(desk.ledger.read_all())) == before

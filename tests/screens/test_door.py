"""What stands at the door: origins, hosts, sizes, headers, and who may act at all."""

from __future__ import annotations

import logging

import pytest

from app.desk.desk import Desk
from app.web.guards import BODY_LIMIT, PHOTOS_LIMIT, POLICY, host_name
from tests.screens.conftest import Tablets
from tests.screens.visitor import HOME, JSON

PAGES = (
    "/",
    "/today",
    "/sign-on",
    "/settings",
    "/holds",
    "/records",
    "/records/{run}",
    "/runs/{run}",
    "/runs/{run}/_bench",
    "/runs/{run}/steps/wind",
    "/runs/{run}/steps/hold/countersign",
    "/runs/{run}/trouble",
    "/runs/{run}/troubles",
    "/runs/{run}/steps/wind/trouble",
    "/runs/{run}/suspend",
    "/runs/{run}/resume",
    "/runs/{run}/close",
    "/runs/{run}/stopped",
    "/stopped",
    "/runs/{run}/watch",
)
ACTS = (
    "/runs",
    "/runs/{run}/steps/wind/enter",
    "/runs/{run}/steps/gap/sign",
    "/runs/{run}/steps/hold/refuse",
    "/runs/{run}/steps/wind/trouble",
    "/runs/{run}/entries/2/correct",
    "/runs/{run}/restart",
    "/runs/{run}/suspend",
    "/runs/{run}/resume",
    "/runs/{run}/close",
)


def test_every_page_answers_under_a_strict_policy(tablets: Tablets, run: str) -> None:
    tablet = tablets("AB")

    answers = {page: tablet.get(page.format(run=run)) for page in PAGES}

    for page, answer in answers.items():
        assert answer.status_code == 200, page
        assert answer.headers["content-security-policy"] == POLICY
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["referrer-policy"] == "same-origin"
        assert answer.headers["cross-origin-opener-policy"] == "same-origin"
        assert answer.headers["permissions-policy"]
        assert answer.headers["cache-control"] == "no-store"
        assert "style=" not in answer.text, page
        assert "onclick" not in answer.text, page


@pytest.mark.parametrize("page", ["/nowhere", "/runs/R-9999", "/runs/R-0001/steps/none"])
def test_where_there_is_nothing_the_page_says_so_under_the_same_policy(
    tablets: Tablets, run: str, page: str
) -> None:
    tablet = tablets("AB")

    answer = tablet.get(page)

    assert run
    assert answer.status_code == 404
    assert answer.headers["content-security-policy"] == POLICY
    assert tablet.get(page, headers=JSON).json()["code"] == "page.none"


ELSEWHERE: tuple[dict[str, str], ...] = (
    {},
    {"Origin": ""},
    {"Origin": "null"},
    {"Origin": "http://elsewhere.example"},
    {"Origin": "http://["},
    {"Origin": "http://127.0.0.1:9999"},
    {"Sec-Fetch-Site": "cross-site"},
    {"Sec-Fetch-Site": "same-site"},
    {"Sec-Fetch-Site": "none"},
)


def test_an_act_from_elsewhere_is_refused(tablets: Tablets, desk: Desk, run: str) -> None:
    tablet = tablets("AB")
    before = len(list(desk.ledger.read_all()))
    del tablet.client.headers["Origin"]

    answers = [
        tablet.ask("POST", act.format(run=run), data={}, headers=headers)
        for act in ACTS
        for headers in ELSEWHERE
    ]

    for answer in answers:
        assert answer.status_code == 403
        assert "This did not come from a page of this site. Nothing was done." in answer.text
    assert len(list(desk.ledger.read_all())) == before


def test_a_browser_that_tells_only_the_site_of_its_page_is_let_in(tablets: Tablets) -> None:
    tablet = tablets("AB")
    del tablet.client.headers["Origin"]

    answer = tablet.ask("POST", "/settings", data={}, headers={"Sec-Fetch-Site": "same-origin"})

    assert answer.status_code == 303


def test_stop_work_too_comes_from_a_page_of_ours(tablets: Tablets, desk: Desk, run: str) -> None:
    tablet = tablets()

    answer = tablet.ask("POST", f"/runs/{run}/stop", headers={"Origin": "http://elsewhere.example"})

    assert answer.status_code == 403
    seen = desk.run(run)
    assert seen is not None
    assert seen.state.stop is None


def test_the_site_answers_under_its_own_names_only(tablets: Tablets) -> None:
    tablet = tablets()

    strange = tablet.get("/sign-on", headers={"Host": "elsewhere.example"})
    local = tablet.get("/sign-on", headers={"Host": "localhost:8420"})

    assert strange.status_code == 421
    assert "does not answer under that name" in strange.text
    assert strange.headers["content-security-policy"] == POLICY
    assert local.status_code == 200


@pytest.mark.parametrize(
    ("host", "name"),
    [("Localhost:80", "localhost"), ("[::1]:8420", "[::1]"), ("127.0.0.1", "127.0.0.1"), ("", "")],
)
def test_a_host_is_known_without_its_port(host: str, name: str) -> None:
    assert host_name(host) == name


def test_too_much_is_not_read(tablets: Tablets, run: str) -> None:
    tablet = tablets("AB")
    form = {"Content-Type": "application/x-www-form-urlencoded"}
    photos = {"Content-Type": "multipart/form-data; boundary=x"}
    where = f"/runs/{run}/steps/wind/trouble"

    text = tablet.ask("POST", where, content=b"a" * (BODY_LIMIT + 1), headers=form)
    announced = tablet.ask(
        "POST", where, content=b"", headers={**photos, "Content-Length": str(PHOTOS_LIMIT + 1)}
    )

    assert text.status_code == 413
    assert "more than" in text.text
    assert announced.status_code == 413


def test_cookies_are_out_of_reach_of_scripts_and_other_sites(tablets: Tablets) -> None:
    tablet = tablets()

    answer = tablet.post("/sign-on", **tablet.as_("AB"))

    cookies = answer.headers.get_list("set-cookie")
    assert len(cookies) == 2
    for cookie in cookies:
        assert "HttpOnly" in cookie
        assert "SameSite=strict" in cookie
        assert "Secure" not in cookie


def test_over_tls_cookies_never_go_in_the_clear(tablets: Tablets) -> None:
    tablet = tablets()
    tablet.client.base_url = HOME.replace("http", "https")
    tablet.client.headers["Origin"] = HOME.replace("http", "https")

    answer = tablet.post("/sign-on", **tablet.as_("AB"))

    assert all("Secure" in cookie for cookie in answer.headers.get_list("set-cookie"))


def test_a_ledger_that_takes_nothing_says_so(
    tablets: Tablets, desk: Desk, run: str, caplog: pytest.LogCaptureFixture
) -> None:
    tablet = tablets("AB")
    seen = tablet.seen(run)
    desk.ledger.close()

    told = tablet.tell(f"/runs/{run}/steps/wind/enter", values={"value": "4.2"}, seen=seen)
    page = tablet.post(f"/runs/{run}/stop")

    assert told.status_code == page.status_code == 503
    assert told.json()["sentence"].startswith("Not saved: the server is stopping.")
    assert "Not saved: the server is stopping." in page.text
    assert "ledger: Not saved" in caplog.text


def test_a_bug_is_said_in_a_sentence_and_written_to_the_log(
    tablets: Tablets, run: str, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    tablet = tablets("AB")

    def broken(*_: object) -> None:
        raise RuntimeError("the inside of the program")

    monkeypatch.setattr(Desk, "circumstances", broken)
    with caplog.at_level(logging.ERROR):
        page = tablet.get(f"/runs/{run}")
        told = tablet.get(f"/runs/{run}/steps/wind/trouble", headers=JSON)

    assert page.status_code == told.status_code == 500
    assert "Something in the program did not work. Nothing was saved." in page.text
    assert "Traceback" not in page.text
    assert "inside of the program" not in page.text
    assert told.json()["code"] == "program.bug"
    assert page.headers["content-security-policy"] == POLICY
    assert "the inside of the program" in caplog.text


def test_static_files_are_kept_under_an_address_of_their_content(tablets: Tablets) -> None:
    tablet = tablets()
    page = tablet.get("/sign-on").text
    address = page.partition('href="/static/css/base.css')[2].partition('"')[0]

    kept = tablet.get(f"/static/css/base.css{address}")
    asked = tablet.get("/static/js/hold.js")

    assert address.startswith("?v=")
    assert "immutable" in kept.headers["cache-control"]
    assert asked.headers["cache-control"] == "public, no-cache"
    assert tablet.get("/static/../pyproject.toml").status_code == 404


@pytest.mark.parametrize("path", ["/docs", "/redoc", "/openapi.json"])
def test_there_is_no_page_about_the_program(tablets: Tablets, path: str) -> None:
    assert tablets().get(path).status_code == 404


@pytest.mark.parametrize(
    "body", [b"{", b"[]", b'{"values": 3}', b'{"values": {"value": 4.2}}', b'{"seen": true}']
)
def test_json_that_says_it_wrongly_is_refused(tablets: Tablets, run: str, body: bytes) -> None:
    tablet = tablets("AB")

    answer = tablet.ask(
        "POST",
        f"/runs/{run}/steps/wind/enter",
        content=body,
        headers={**JSON, "Content-Type": "application/json"},
    )

    assert answer.status_code == 422
    assert answer.json()["code"] == "form.unreadable"

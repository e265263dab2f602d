"""Bad requests at every address: forms, JSON, photos, cookies, headers, queries."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import httpx
from fastapi import FastAPI

from tests.desk.conftest import SECRETS
from tests.fuzz.lots import Lots
from tests.fuzz.surfaces import Case
from tests.screens import matrix
from tests.screens.visitor import HOME, JSON, Visitor

NAMES = ("R-0001", "R-9999", "wind", "hold", "count", "brief", "1", "2", "7", "QP-9", "0" * 64)
PICTURE = b"\x89PNG\r\n\x1a\n"
BROKEN = 500
AT_HAND = ("AB", "HL", "SL", "KM", "AU")
SIGN_ON_ONE_IN = 12  # what was sent may have signed everyone off

Ask = Callable[[str, str, dict[str, Any]], httpx.Response]


def a_request(app: FastAPI, tablet: Visitor) -> Case:
    """Return the case that sends one request made by lot, and reads its answer."""
    addresses = sorted(set(matrix.addresses(app)))
    at_hand = list(AT_HAND)

    def case(lots: Lots) -> str:
        method, path = addresses[lots.below(len(addresses))]
        if lots.chance(SIGN_ON_ONE_IN):
            at_hand.append(at_hand.pop(0))
            tablet.post("/sign-on", **tablet.as_(at_hand[0]))
        elsewhere = f"10.{lots.below(256)}.{lots.below(256)}.{lots.below(256)}"
        tablet.client._transport.client = (elsewhere, 1)  # type: ignore[attr-defined]
        where, headers = _filled(lots, path), _headers(lots)
        sent = _query(lots) if method == "GET" else _body(lots)
        if method == "POST" and lots.chance(2):
            where, sent = _nearly_right(lots, (method, path), at_hand[0])
        try:
            answer = tablet.ask(
                method, where, **{**sent, "headers": {**sent.get("headers", {}), **headers}}
            )
        except (httpx.InvalidURL, UnicodeEncodeError, ValueError):
            return ""  # no client could send it
        finally:
            tablet.heard.clear()
        if answer.status_code >= BROKEN and answer.status_code != 503:
            return f"{answer.status_code} at {method} {where!r} {sent!r} {headers!r}"
        return _unsaid(answer, f"{method} {where!r} {sent!r}")

    return case


def _unsaid(answer: httpx.Response, what: str) -> str:
    if answer.status_code < 400:
        return ""
    if "set-cookie" in answer.headers and "a=b" in answer.headers["set-cookie"]:
        return f"a header was put in: {what}"
    if answer.headers["content-type"].startswith("application/json"):
        sentence = answer.json().get("sentence", "")
    else:
        sentence = answer.text
    return "" if len(sentence) > 12 else f"{answer.status_code} without a sentence: {what}"


def _filled(lots: Lots, path: str) -> str:
    parts = []
    for part in path.split("/"):
        if not part.startswith("{"):
            parts.append(part)
        elif lots.chance(3):
            parts.append(httpx.QueryParams({"x": lots.text()})["x"].replace("/", "%2f") or "x")
        else:
            parts.append(NAMES[lots.below(len(NAMES))])
    return "/".join(parts)


def _nearly_right(lots: Lots, address: matrix.Address, person: str) -> tuple[str, dict[str, Any]]:
    """Return an act that would do, but for a field or two."""
    sample = matrix.SAMPLES.get(address, matrix.Sample())
    own = {"person": person, "secret": SECRETS[person]}
    body = {k: own.get(k, "") if v == matrix.OWN else v for k, v in sample.body.items()}
    for _ in range(lots.below(3)):
        body[str(lots.of(*body, lots.name()))] = _sendable(lots)
    where = address[1].format_map({**matrix.NAMES, **sample.names})
    sent = {_sendable(lots, name): value for name, value in body.items()}
    if not lots.chance(4):
        return where, {"data": sent}
    values = {k.removeprefix("values."): v for k, v in sent.items() if k.startswith("values.")}
    plain = {k: v for k, v in sent.items() if not k.startswith("values.")}
    return where, _as_json({**plain, "values": values})


def _as_json(body: object) -> dict[str, Any]:
    """Return a JSON body whose odd signs are spelt out, so that they can be sent."""
    return {"content": json.dumps(body).encode(), "headers": {"Content-Type": "application/json"}}


def _query(lots: Lots) -> dict[str, Any]:
    names = ("step", "part", "after", "touched", "gap", "back", "find", "text", "unsent", "second")
    return {
        "params": {names[lots.below(len(names))]: _sendable(lots) for _ in range(lots.below(3))}
    }


def _body(lots: Lots) -> dict[str, Any]:
    match lots.below(6):
        case 0:
            return _as_json({lots.name(): lots.json() for _ in range(lots.below(6))})
        case 1:
            return {"content": lots.mutated(b'{"values":{"value":"4.2"},"seen":9,"key":"k"}')}
        case 2:
            files = {_sendable(lots) or "photo": ("p.png", PICTURE + lots.noise(), "image/png")}
            return {"data": _form(lots), "files": files}
        case 3:
            return {"content": lots.mutated(b"values.value=4.2&seen=9&key=k&person=AB&secret=x")}
        case _:
            return {"data": _form(lots)}


def _form(lots: Lots) -> dict[str, Any]:
    named = {"person": "AB", "secret": "ab-tells-nobody", "seen": "999"} if lots.chance(2) else {}
    drawn = {_sendable(lots, lots.name()): _sendable(lots) for _ in range(lots.below(7))}
    return {**named, **drawn}


def _headers(lots: Lots) -> dict[str, str]:
    headers = dict(JSON) if lots.chance(2) else {}
    if lots.chance(4):
        headers["HX-Request"] = "true"
    if lots.chance(6):
        kinds = (
            "application/json",
            "multipart/form-data; boundary=x",
            "text/plain",
            "multipart/form-data",
        )
        headers["Content-Type"] = kinds[lots.below(len(kinds))]
    if lots.chance(8):
        headers["Idempotency-Key"] = _plain(lots)
    if lots.chance(8):
        headers["Cookie"] = f"session={_plain(lots)}; tablet={_plain(lots)}; theme={_plain(lots)}"
    if lots.chance(10):
        kept = ("kept-by", "kept-made", "kept-sent", "kept-age-ms", "kept-hands", "kept-after")
        headers |= {name: _plain(lots) for name in kept}
    if lots.chance(20):
        headers["Host"] = _plain(lots)
    if lots.chance(20):
        headers["Origin"] = str(lots.of("null", HOME, "http://[", "http://x:99999", _plain(lots)))
    return headers


def _plain(lots: Lots) -> str:
    return "".join(each for each in lots.text() if " " <= each < "\x7f")


def _sendable(lots: Lots, text: str | None = None) -> str:
    drawn = lots.text() if text is None else text
    return drawn.encode("utf-8", "replace").decode()

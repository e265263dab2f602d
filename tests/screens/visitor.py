"""Someone with a tablet: asks pages and sends acts as a browser does, to the real application."""

from __future__ import annotations

import asyncio
import html
import re
from collections.abc import Mapping
from typing import Any

import httpx
from fastapi import FastAPI

HOME = "http://127.0.0.1:8420"
JSON = {"Accept": "application/json"}


class Visitor:
    """One tablet with its own cookies. Everything that it was ever answered is kept in `heard`."""

    def __init__(
        self, app: FastAPI, loop: asyncio.AbstractEventLoop, secrets: Mapping[str, str]
    ) -> None:
        self._loop = loop
        self._secrets = secrets
        self.heard: list[str] = []
        self.client = httpx.AsyncClient(
            transport=httpx.ASGITransport(app=app, raise_app_exceptions=False),
            base_url=HOME,
            headers={"Origin": HOME},
        )

    def close(self) -> None:
        """Put the tablet down."""
        self._loop.run_until_complete(self.client.aclose())

    def ask(self, method: str, path: str, **sent: Any) -> httpx.Response:
        """Send one request and remember all of its answer."""
        answer = self._loop.run_until_complete(self.client.request(method, path, **sent))
        self.heard.append(f"{path}\n{answer.headers}\n{answer.text}")
        return answer

    def get(self, path: str, **sent: Any) -> httpx.Response:
        """Ask for a page."""
        return self.ask("GET", path, **sent)

    def see(self, path: str) -> Any:
        """Ask for the JSON of a page."""
        return self.get(path, headers=JSON).json()

    def post(self, path: str, **fields: str | list[str]) -> httpx.Response:
        """Send a form."""
        return self.ask("POST", path, data=fields)

    def tell(self, path: str, **body: Any) -> httpx.Response:
        """Send JSON."""
        return self.ask("POST", path, json=body, headers=JSON)

    def sign_on(self, person: str) -> None:
        """Sign a person on at this tablet."""
        answer = self.post("/sign-on", person=person, secret=self._secrets[person])
        assert answer.status_code == 303, answer.text

    def seen(self, run: str) -> int:
        """Return how far the run is, as the page says it."""
        return int(self.see(f"/runs/{run}")["seq"])

    def enter(self, run: str, step: str, part: str = "", **values: str) -> httpx.Response:
        """Enter on a step, as whoever is entering."""
        body = {"part": part, "values": values, "seen": self.seen(run)}
        return self.tell(f"/runs/{run}/steps/{step}/enter", **body)

    def seal(self, run: str, step: str, person: str, **values: str) -> httpx.Response:
        """Enter on a step with the person's own secret."""
        body = {"values": values, "seen": self.seen(run), **self.as_(person)}
        return self.tell(f"/runs/{run}/steps/{step}/enter", **body)

    def sign(self, run: str, step: str, person: str, **more: str) -> httpx.Response:
        """Sign a seat of a step."""
        body = {"seen": self.seen(run), **self.as_(person), **more}
        return self.tell(f"/runs/{run}/steps/{step}/sign", **body)

    def as_(self, person: str) -> dict[str, str]:
        """Return a person's id and their secret."""
        return {"person": person, "secret": self._secrets[person]}


def words(page: str) -> str:
    """Return a page's text without its tags, blanks made single."""
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page)))

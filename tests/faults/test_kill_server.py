"""The whole server is killed under load, twenty times; no acknowledged entry is lost, none doubled.

Entries go through the door as a tablet sends them: form, key, session. What was sent and not answered
is sent again with its key once the server is back, as a tablet does, and stands exactly once.
"""

from __future__ import annotations

import asyncio
import http.client
import json
import os
import random
import signal
import socket
import subprocess
import sys
import threading
import time
from collections import Counter
from contextlib import closing, suppress
from pathlib import Path
from urllib.parse import urlencode

import pytest

from app.desk.desk import Desk, Done, utc_now
from app.run.commands import Enter, Sign
from app.run.crew import Person
from tests.desk.conftest import SECRETS
from tests.run.stage import PEOPLE, SITE, TEXT

pytestmark = pytest.mark.alone

KILLS = 20
TABLETS = 8
ROOT = Path(__file__).parents[2]
RUN = "R-0001"


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """Return a site with a run that stands at its wind reading."""
    folder = tmp_path / "site"
    Desk.found(
        folder,
        SITE.encode(),
        [(Person(id=k, name=f"Person {k}", roles=r), SECRETS[k]) for k, r in PEOPLE.items()],
        {"QP-9.toml": TEXT.encode()},
        reviewer="SL",
        releaser="HL",
    )
    desk = Desk.open(folder, clock=utc_now)
    asyncio.run(brief(desk))
    desk.close()
    return folder


async def brief(desk: Desk) -> None:
    await desk.open_run("QP-9", by="SL", secret=SECRETS["SL"], key="open", device="")
    for person in ("AB", "KM", "RS", "SL", "HL"):
        said = Enter(by=person, step="brief", part=person, seen=99)
        await desk.sign_act(RUN, said, secret=SECRETS[person], key=person, device="")
    signed = Sign(by="SL", step="brief", signed=False, seen=99)
    done = await desk.sign_act(RUN, signed, secret=SECRETS["SL"], key="brief", device="")
    assert isinstance(done, Done)


class Server:
    """The real server, started as it is started by hand."""

    def __init__(self, folder: Path) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self._process = subprocess.Popen(
            [
                sys.executable, "-m", "app", "serve",
                "--folder", str(folder), "--port", str(self.port),
            ],
            cwd=ROOT,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )  # fmt: skip
        for _ in range(600):
            with suppress(OSError), closing(self.talk()) as line:
                line.request("GET", "/sign-on")
                line.getresponse().read()
                return
            time.sleep(0.05)
        raise AssertionError("the server did not start within 30 s")

    def talk(self) -> http.client.HTTPConnection:
        """Open a connection to the server."""
        return http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)

    def kill(self) -> None:
        """Kill it with SIGKILL."""
        os.kill(self._process.pid, signal.SIGKILL)
        self._process.wait()

    def post(
        self, line: http.client.HTTPConnection, path: str, cookie: str, **form: str
    ) -> tuple[int, bytes, str]:
        """Post a form as a page of this site; return status, body and cookies."""
        line.request(
            "POST",
            path,
            urlencode(form),
            {
                "Content-Type": "application/x-www-form-urlencoded",
                "Accept": "application/json",
                "Origin": f"http://127.0.0.1:{self.port}",
                "Cookie": cookie,
            },
        )
        answer = line.getresponse()
        cookies = "; ".join(
            value.partition(";")[0]
            for name, value in answer.getheaders()
            if name.lower() == "set-cookie"
        )
        return answer.status, answer.read(), cookies


class Tablet(threading.Thread):
    """A tablet that enters and enters until its server is gone."""

    def __init__(self, server: Server, cookie: str, number: str) -> None:
        super().__init__()
        self.server, self.cookie, self.number = server, cookie, number
        self.sent: list[str] = []
        self.acknowledged: list[str] = []

    def run(self) -> None:
        with suppress(OSError, http.client.HTTPException), closing(self.server.talk()) as line:
            for count in range(100_000):
                key = f"{self.number}-{count}"
                self.sent.append(key)
                status = enter(self.server, line, self.cookie, key)
                assert status == 200, status
                self.acknowledged.append(key)


def enter(server: Server, line: http.client.HTTPConnection, cookie: str, key: str) -> int:
    """Enter a wind reading above its limit: it is kept, and the step stays open for the next."""
    path = f"/runs/{RUN}/steps/wind/enter"
    form = {"key": key, "seen": "999999", "values.value": "99.5"}
    return server.post(line, path, cookie, **form)[0]


@pytest.mark.timeout(600)
def test_twenty_kills_lose_no_acknowledged_entry_and_double_none(site: Path) -> None:
    server = Server(site)
    with closing(server.talk()) as line:
        form = {"person": "AB", "secret": SECRETS["AB"]}
        status, told, cookie = server.post(line, "/sign-on", "", **form)
    assert status == 200, told
    sent: list[str] = []
    acknowledged: list[str] = []
    lots = random.Random(20)

    for cycle in range(KILLS):
        tablets = [Tablet(server, cookie, f"c{cycle}-t{n}") for n in range(TABLETS)]
        for tablet in tablets:
            tablet.start()
        time.sleep(lots.uniform(0.3, 0.9))
        server.kill()
        for tablet in tablets:
            tablet.join(30)
        sent += [key for tablet in tablets for key in tablet.sent]
        acknowledged += [key for tablet in tablets for key in tablet.acknowledged]
        server = Server(site)
    unanswered = sorted(set(sent) - set(acknowledged))
    with closing(server.talk()) as line:
        for key in unanswered:
            assert enter(server, line, cookie, key) == 200
    server.kill()

    desk = Desk.open(site)
    stored = Counter(e.key for e in desk.ledger.read(f"run/{RUN}") if e.kind == "EntryMade")
    breaks = desk.ledger.verify()
    desk.close()
    missing = [key for key in acknowledged if stored[key] == 0]
    counts = {"sent": len(sent), "acknowledged": len(acknowledged), "missing": len(missing)}
    print(json.dumps({**counts, "kills": KILLS}))
    assert len(acknowledged) > KILLS
    assert missing == []
    assert [key for key in sent if stored[key] != 1] == []
    assert breaks == []

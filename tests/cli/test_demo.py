"""The demo: started as a person starts it, looked at over HTTP, started again."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx
import pytest

from app.desk.demo import site as demo
from app.desk.desk import Desk
from tests.cli.conftest import Errand

pytestmark = pytest.mark.slow
PATIENCE_S = 120  # a crew works a whole run and seals it, on a machine that does other things too


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as ear:
        return int(ear.getsockname()[1])


@contextmanager
def running(errand: str, folder: Path, *more: str) -> Iterator[tuple[str, list[str]]]:
    """Start a server; give its address and what it printed; end it as Ctrl-C does."""
    port = free_port()
    command = [sys.executable, "-m", "app", errand, "--folder", str(folder), "--port", str(port)]
    with subprocess.Popen(
        [*command, *more],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    ) as server:
        assert server.stdout is not None
        said: list[str] = []
        try:
            for line in server.stdout:
                said.append(line.rstrip("\n"))
                if "End with Ctrl-C" in line:
                    break
            yield f"http://127.0.0.1:{port}", said
        finally:
            server.send_signal(signal.SIGINT)
            assert server.wait(timeout=20) == 0


def answer(address: str) -> httpx.Response:
    deadline = time.monotonic() + PATIENCE_S
    while True:
        try:
            return httpx.get(address, timeout=10)
        except httpx.TransportError:
            if time.monotonic() > deadline:
                raise
            time.sleep(0.2)


def test_the_demo_is_made_told_and_answers(tmp_path: Path) -> None:
    folder = tmp_path / "demo-site"

    with running("demo", folder) as (address, said):
        opened = re.findall(rf"{re.escape(address)}\S+", "\n".join(said))
        signed_off = [answer(each) for each in opened]

    assert opened == [f"{address}/runs/R-0002", f"{address}/holds", f"{address}/records/R-0001"]
    assert all("Sign on" in each.text for each in signed_off)  # nobody is signed on yet
    assert sum("-quillmoor" in line for line in said) == 12


def test_the_demo_stands_where_it_tells_something(demo_site: Path) -> None:
    desk = Desk.open(demo_site)
    try:
        whole, half = desk.runs()
        kinds = [e.kind for e in desk.ledger.read("run/R-0001")]
        assert (whole.status, half.status) == ("closed", "open")
        assert desk.record("R-0001") is not None
        assert set(kinds) >= {
            "CountsDiffered",
            "EntryStruck",
            "WorkStopped",
            "WorkRestarted",
            "TroubleReported",
            "TroubleDisposed",
        }
        released = desk.released()[0]
        assert released.reviewed_by != released.released_by
        hold = half.progress("released")
        assert (len(hold.refusals), [s.role for s in hold.signatures]) == (1, ["technician"] * 2)
        assert desk.site.roles["supervisor"] >= {"release-hold"}  # who is waited for
    finally:
        desk.close()


def test_what_was_entered_is_kept_until_a_fresh_start(demo_site: Path, errand: Errand) -> None:
    errand("people", "retire", "YT", "--folder", demo_site)

    with running("demo", demo_site):
        pass
    kept = errand("people", "list", "--folder", demo_site).said
    with running("demo", demo_site, "--fresh"):
        pass
    fresh = errand("people", "list", "--folder", demo_site).said

    assert "YT    Yuki Tanamori: retired" in kept
    assert "YT    Yuki Tanamori: coating, technician" in fresh


def test_a_fresh_start_deletes_nothing_but_a_demo(tmp_path: Path, errand: Errand) -> None:
    (tmp_path / "thesis.txt").write_text("ten years")

    told = errand("demo", "--folder", tmp_path, "--fresh", "--port", str(free_port()))

    assert told.code == 2
    assert told.complained == [f"{tmp_path} holds no demo site. Nothing was deleted."]
    assert (tmp_path / "thesis.txt").read_text() == "ten years"


def test_a_port_that_is_taken_is_told_before_anything_is_made(
    tmp_path: Path, errand: Errand
) -> None:
    folder = tmp_path / "demo-site"
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        told = errand("demo", "--folder", folder, "--port", str(port))

    assert told.code == 2
    assert told.complained[0].startswith(f"Nothing was started: 127.0.0.1, port {port} ")
    assert not folder.exists()
    assert not demo.stands(folder)


def test_a_site_is_served_and_ends_in_peace_when_told_to(demo_site: Path, errand: Errand) -> None:
    with running("serve", demo_site) as (address, said):
        page = answer(f"{address}/sign-on")
        second = errand("serve", "--folder", demo_site, "--port", str(free_port()))

    assert said == [f"Quillmoor Observatory is at {address}. End with Ctrl-C."]
    assert page.status_code == httpx.codes.OK
    assert second.code == 2  # one server to a site: the ledger has one writer
    assert errand("people", "list", "--folder", demo_site).code == 0  # and let go of it


def test_a_server_of_no_site_is_not_started(tmp_path: Path, errand: Errand) -> None:
    told = errand("serve", "--folder", tmp_path / "none", "--port", str(free_port()))

    assert told.code == 2
    assert told.complained[0].startswith(f"There is no site in {tmp_path / 'none'}.")

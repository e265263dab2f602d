"""A site is served to tablets under its own certificate; the door beside it gives that out, and no more."""

from __future__ import annotations

import os
import re
import signal
import socket
import ssl
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import httpx
import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding

ROOT = Path(__file__).parents[2]
NAME = "quillmoor.home.arpa"


def free_pair() -> int:
    """Return a port that is free, and so is the next one."""
    for _ in range(50):
        with socket.socket() as one, socket.socket() as next_one:
            one.bind(("127.0.0.1", 0))
            port = int(one.getsockname()[1])
            with suppress(OSError, OverflowError):
                next_one.bind(("127.0.0.1", port + 1))
                return port
    raise AssertionError("no two free ports beside each other")


@dataclass(frozen=True, slots=True)
class Served:
    """A server that tablets can reach."""

    port: int
    folder: Path
    said: list[str]

    def at(self, path: str) -> httpx.Response:
        """Ask under the site's own authority, by its name."""
        trusting = ssl.create_default_context(cafile=str(self.folder / "trust/authority.pem"))
        asking = httpx.Client(verify=trusting, headers={"Host": f"{NAME}:{self.port}"})
        with asking:
            return asking.get(
                f"https://127.0.0.1:{self.port}{path}", extensions={"sni_hostname": NAME}
            )


@pytest.fixture(scope="module")
def served(demo_made: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("served") / "site"
    subprocess.run(["cp", "-r", str(demo_made), str(folder)], check=True)
    port = free_pair()
    command = ["-m", "app", "serve", "--folder", str(folder), "--host", "0.0.0.0", "--names", NAME]
    process = subprocess.Popen(
        [sys.executable, *command, "--port", str(port)],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    said = [process.stdout.readline().rstrip() for _ in range(3)]
    given = Served(port, folder, said)
    for _ in range(200):
        with suppress(httpx.HTTPError):
            if given.at("/sign-on").status_code == 200:
                break
        time.sleep(0.05)
    yield given
    process.send_signal(signal.SIGINT)
    process.wait(15)
    process.stdout.close()


def test_it_says_where_it_is_where_tablets_enrol_and_what_to_print(served: Served) -> None:
    address, enrol, print_this = served.said

    assert f"is at https://{NAME}:{served.port}." in address
    assert enrol == f"Enrol tablets at http://{NAME}:{served.port + 1}/enrol"
    assert re.search(r"SHA-256: ([0-9A-F]{4} ){15}[0-9A-F]{4}$", print_this)


def test_the_site_answers_under_its_authority_and_its_cookies_are_for_that_alone(
    served: Served,
) -> None:
    assert served.at("/sign-on").status_code == 200
    with pytest.raises(httpx.ConnectError, match="CERTIFICATE_VERIFY_FAILED"):
        httpx.get(f"https://127.0.0.1:{served.port}/sign-on")
    with pytest.raises(httpx.HTTPError):
        httpx.get(f"http://127.0.0.1:{served.port}/sign-on")


def test_the_door_gives_the_certificate_and_the_fingerprint_and_takes_nothing(
    served: Served,
) -> None:
    door = f"http://127.0.0.1:{served.port + 1}"

    page = httpx.get(f"{door}/enrol")
    file = httpx.get(f"{door}/enrol/authority.cer")
    elsewhere = httpx.get(f"{door}/runs/R-0001")
    act = httpx.post(f"{door}/runs/R-0001/stop", headers={"Origin": door})

    assert page.status_code == 200
    fingerprint = served.said[2].rpartition(": ")[2]
    assert fingerprint[:39] in page.text
    assert fingerprint[40:] in page.text
    assert f"http://{NAME}:{served.port + 1}/enrol" in page.text
    assert file.headers["content-type"] == "application/x-x509-ca-cert"
    given = x509.load_der_x509_certificate(file.content)
    kept = (served.folder / "trust/authority.pem").read_bytes()
    assert given.public_bytes(Encoding.PEM) == kept
    assert elsewhere.status_code == 307
    assert elsewhere.headers["location"] == f"https://127.0.0.1:{served.port}/runs/R-0001"
    assert act.status_code == 403


def asked(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "app", *arguments],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_certificate_can_be_shown_and_written_out(served: Served, tmp_path: Path) -> None:
    folder = str(served.folder)
    shown = asked("trust", "show", "--folder", folder)
    out = tmp_path / "site.cer"
    written = asked("trust", "export", "--folder", folder, "--out", str(out))

    assert shown.returncode == 0
    assert NAME in shown.stdout
    assert served.said[2].rpartition(": ")[2][:39] in shown.stdout
    assert written.returncode == 0
    assert x509.load_der_x509_certificate(out.read_bytes()).public_bytes(Encoding.DER)


def test_without_a_name_for_tablets_nothing_is_started(demo_site: Path) -> None:
    port = str(free_pair())
    said = asked("serve", "--folder", str(demo_site), "--host", "0.0.0.0", "--port", port)

    assert said.returncode == 2
    assert "Say by which name tablets call this server" in said.stderr


def test_a_site_that_was_never_served_to_tablets_says_so(demo_site: Path) -> None:
    said = asked("trust", "show", "--folder", str(demo_site))

    assert said.returncode == 2
    assert "This site has no certificates yet." in said.stderr

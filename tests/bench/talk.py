"""Talks to a server as a tablet does: kept connection, one form a press, cookies, origin."""

from __future__ import annotations

import http.client
import os
import signal
import socket
import subprocess
import sys
import time
from contextlib import closing, suppress
from pathlib import Path

from tests.bench.texts import SECRETS

ROOT = Path(__file__).parents[2]
EDGE = "----measured"
ORIGIN = "http://127.0.0.1:{port}"


def multipart(fields: dict[str, str]) -> bytes:
    """Return a form as a browser sends it with photos allowed."""
    lines = [
        f'--{EDGE}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'
        for name, value in fields.items()
    ]
    return ("".join(lines) + f"--{EDGE}--\r\n").encode()


def headers(port: int, cookie: str) -> dict[str, str]:
    """Return the headers of a press on a tablet."""
    return {
        "Content-Type": f"multipart/form-data; boundary={EDGE}",
        "Origin": ORIGIN.format(port=port),
        "HX-Request": "true",
        "Cookie": cookie,
    }


class Line:
    """One kept connection to a server, of one tablet."""

    def __init__(self, port: int) -> None:
        self.port = port
        self.cookie = ""
        self._line = http.client.HTTPConnection("127.0.0.1", port, timeout=60)

    def post(self, path: str, **fields: str) -> bytes:
        """Send a form; the answer must be good."""
        self._line.request("POST", path, multipart(fields), headers(self.port, self.cookie))
        return self._read(path)

    def get(self, path: str) -> bytes:
        """Ask for a page; the answer must be good."""
        self._line.request("GET", path, headers={"Cookie": self.cookie})
        return self._read(path)

    def sign_on(self, person: str) -> None:
        """Sign on, and keep the cookies."""
        fields = {"person": person, "secret": SECRETS[person]}
        self._line.request("POST", "/sign-on", multipart(fields), headers(self.port, self.cookie))
        answer = self._line.getresponse()
        told = answer.read()
        if answer.status != 200:
            raise RuntimeError(f"sign-on: {answer.status} {told[:300]!r}")
        given = [value for name, value in answer.getheaders() if name.lower() == "set-cookie"]
        self.cookie = "; ".join(value.partition(";")[0] for value in given)

    def close(self) -> None:
        """Hang up."""
        self._line.close()

    def _read(self, path: str) -> bytes:
        answer = self._line.getresponse()
        body = answer.read()
        if answer.status != 200:
            raise RuntimeError(f"{path}: {answer.status} {body[:600]!r}")
        return body


class Server:
    """A server in a process of its own."""

    def __init__(self, folder: Path, *, plain: bool = False) -> None:
        """Start it: `plain` as people do, else with the bare form route beside it."""
        self.folder = folder
        self.port = free_port()
        with_bare = ["tests.bench.server", str(folder), str(self.port)]
        as_people = ["app", "serve", "--folder", str(folder), "--port", str(self.port)]
        started = time.perf_counter()
        self._process = subprocess.Popen(
            [sys.executable, "-m", *(as_people if plain else with_bare)],
            cwd=ROOT,
            stdout=subprocess.DEVNULL,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
        )
        self._wait()
        self.start_s = time.perf_counter() - started

    def line(self, person: str = "AB") -> Line:
        """Return a tablet's line, signed on."""
        line = Line(self.port)
        line.sign_on(person)
        return line

    def memory_mb(self) -> float:
        """Return the memory that the process holds, in MB."""
        told = Path(f"/proc/{self._process.pid}/status").read_text("ascii")
        return int(told.partition("VmRSS:")[2].split()[0]) / 1024

    def stop(self) -> None:
        """End it, and wait for its end."""
        self._process.send_signal(signal.SIGTERM)
        self._process.wait(30)

    def _wait(self) -> None:
        for _ in range(12_000):
            with suppress(OSError), closing(Line(self.port)) as line:
                line.get("/sign-on")
                return
            if self._process.poll() is not None:
                raise RuntimeError("the measured server ended at its start")
            time.sleep(0.01)
        raise RuntimeError("the measured server did not answer")


def free_port() -> int:
    """Return a port that nobody listens on."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port: int = free.getsockname()[1]
        return port

"""Many tablets at once, from a process of their own: `python -m tests.bench.load`, the task on stdin.

Closed loop: each tablet sends its next press when the last was answered. Open loop: presses come at
random moments, whether the last was answered or not, as people do; a queue then shows.
"""

from __future__ import annotations

import asyncio
import json
import random
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import asdict, dataclass, field, replace
from typing import Any

from tests.bench.talk import ROOT, headers, multipart
from tests.bench.texts import LONG, SECRETS

PEOPLE = ("KM", "RS", "SL", "HL")


@dataclass(slots=True, kw_only=True)
class Task:
    """What is to be done, for how long."""

    port: int
    cookie: str
    seconds: float
    runs: list[str] = field(default_factory=list)  # 300 ticks to press in each
    tablets: int = 0  # closed loop
    per_second: float = 0  # open loop
    sign_offs: int = 0  # people who keep proving who they are, meanwhile
    pages_per_second: float = 0  # of a run of 300 steps, meanwhile
    page: str = ""


@dataclass(slots=True, kw_only=True)
class Told:
    """What it came to; `ms` of each press, in the order of the answers."""

    ms: list[float] = field(default_factory=list)
    failed: list[str] = field(default_factory=list)
    sign_offs: int = 0
    pages: int = 0
    seconds: float = 0.0


def in_its_own_process(task: Task) -> Told:
    """Do a task in another process and return what it came to."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.bench.load"],
        input=json.dumps(asdict(task)).encode(),
        stdout=subprocess.PIPE,
        check=True,
        cwd=ROOT,
    )
    return Told(**json.loads(done.stdout))


class Wire:
    """A kept connection, asynchronous; just enough HTTP to press and to look."""

    def __init__(self, task: Task) -> None:
        self._task = task
        self._ends: tuple[asyncio.StreamReader, asyncio.StreamWriter] | None = None

    async def send(self, method: str, path: str, fields: dict[str, str] | None = None) -> int:
        """Send a request, read the answer to its end, return its status."""
        if self._ends is None:
            self._ends = await asyncio.open_connection("127.0.0.1", self._task.port)
        reader, writer = self._ends
        body = multipart(fields) if fields is not None else b""
        lines = [f"{method} {path} HTTP/1.1", f"Host: 127.0.0.1:{self._task.port}"]
        lines += [f"{k}: {v}" for k, v in headers(self._task.port, self._task.cookie).items()]
        lines += [f"Content-Length: {len(body)}", "", ""]
        writer.write("\r\n".join(lines).encode() + body)
        head = (await reader.readuntil(b"\r\n\r\n")).decode("latin-1")
        length = head.lower().partition("content-length:")[2].partition("\r\n")[0]
        await reader.readexactly(int(length or 0))
        return int(head.split(" ", 2)[1])


class Load:
    """The presses of one task."""

    def __init__(self, task: Task) -> None:
        self.task = task
        self.told = Told()
        self._presses = self._all_presses()
        self._end = 0.0

    async def work(self) -> Told:
        """Work until the time is over."""
        started = time.perf_counter()
        self._end = started + self.task.seconds
        doing: list[Any] = [self._tablet() for _ in range(self.task.tablets)]
        doing += [self._prove(PEOPLE[n % len(PEOPLE)]) for n in range(self.task.sign_offs)]
        if self.task.per_second:
            doing.append(self._people())
        if self.task.pages_per_second:
            doing.append(self._looking())
        await asyncio.gather(*doing)
        self.told.seconds = time.perf_counter() - started
        return self.told

    def _all_presses(self) -> Iterator[tuple[str, dict[str, str]]]:
        for number in range(LONG.ticks):
            for run in self.task.runs:
                step = LONG.step(number)
                form = {"key": f"{run}-{step}", "seen": "999999", "part": ""}
                yield f"/runs/{run}/steps/{step}/enter", form
        raise RuntimeError("more presses than there are steps: give the task more runs")

    async def _press(self, wire: Wire) -> None:
        path, form = next(self._presses)
        started = time.perf_counter()
        status = await wire.send("POST", path, form)
        self.told.ms.append((time.perf_counter() - started) * 1e3)
        if status != 200:
            self.told.failed.append(f"{status} {path}")

    async def _tablet(self) -> None:
        wire = Wire(self.task)
        while time.perf_counter() < self._end:
            await self._press(wire)

    async def _people(self) -> None:
        lots, under_way = random.Random(7), set[asyncio.Task[None]]()
        wires = [Wire(self.task) for _ in range(32)]
        while time.perf_counter() < self._end:
            await asyncio.sleep(lots.expovariate(self.task.per_second))
            wire = wires.pop() if wires else Wire(self.task)
            press = asyncio.ensure_future(self._press(wire))
            press.add_done_callback(lambda _, wire=wire: wires.append(wire))  # type: ignore[misc]
            under_way.add(press)
            press.add_done_callback(under_way.discard)
        await asyncio.gather(*under_way)

    async def _prove(self, person: str) -> None:
        wire = Wire(replace(self.task, cookie=""))  # a tablet of their own
        while time.perf_counter() < self._end:
            form = {"person": person, "secret": SECRETS[person]}
            status = await wire.send("POST", "/sign-on", form)
            self.told.sign_offs += 1
            if status != 200:
                self.told.failed.append(f"{status} /sign-on")

    async def _looking(self) -> None:
        wire = Wire(self.task)
        while time.perf_counter() < self._end:
            await asyncio.sleep(1 / self.task.pages_per_second)
            status = await wire.send("GET", self.task.page)
            self.told.pages += 1
            if status != 200:
                self.told.failed.append(f"{status} {self.task.page}")


if __name__ == "__main__":
    asked = Task(**json.loads(sys.stdin.buffer.read()))
    print(json.dumps(asdict(asyncio.run(Load(asked).work()))))

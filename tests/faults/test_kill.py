"""The server is killed again and again under load, and nobody who was answered was lied to.

This says that an answer follows its commit. It says nothing of a power cut: what the system had
not flushed outlasts a killed process (`test_flush` counts the flushes).
"""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import threading
import time
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from queue import SimpleQueue
from typing import IO, cast

import pytest

from app.ledger.backup import check_copy
from app.ledger.ledger import Ledger
from tests.faults.writing_child import entry

pytestmark = pytest.mark.alone

KILLS = 20
WRITERS = 24
ROOT = Path(__file__).parents[2]


@dataclass(slots=True)
class Asked:
    """What was sent over all cycles, and what was answered to it."""

    sent: dict[str, str] = field(default_factory=dict)  # key -> stream
    answers: dict[str, int] = field(default_factory=dict)  # key -> number of its event

    def unanswered(self) -> list[str]:
        return [key for key in self.sent if key not in self.answers]


class Child:
    """A process that writes; many threads ask it, each waiting for its answer."""

    def __init__(self, folder: Path, asked: Asked) -> None:
        self._asked = asked
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.faults.writing_child", str(folder)],
            cwd=ROOT,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )
        self._stdin = cast("IO[bytes]", self._process.stdin)
        self._stdout = cast("IO[bytes]", self._process.stdout)
        assert self._stdout.readline() == b"ready\n"
        self._door = threading.Lock()
        self._dead = False
        self._waiting: dict[str, SimpleQueue[int | None]] = {}
        self._listening = threading.Thread(target=self._listen)
        self._listening.start()

    def ask(self, stream: str, key: str) -> int | None:
        """Return the answer to an errand, None if the child died first."""
        answer: SimpleQueue[int | None] = SimpleQueue()
        with self._door:
            if self._dead:
                return None
            self._asked.sent[key] = stream
            self._waiting[key] = answer
            with suppress(BrokenPipeError):
                self._stdin.write(f"{stream} {key}\n".encode())
                self._stdin.flush()
        return answer.get(timeout=30)

    def kill(self) -> None:
        os.kill(self._process.pid, signal.SIGKILL)
        self._process.wait()
        self._listening.join()
        self._stdout.close()
        with suppress(BrokenPipeError):
            self._stdin.close()

    def _listen(self) -> None:
        for line in self._stdout:
            if line.endswith(b"\n"):  # half a line is no answer
                key, number = line.decode().split()
                self._asked.answers[key] = int(number)
                self._waiting.pop(key).put(int(number))
        with self._door:
            self._dead = True
            for answer in self._waiting.values():
                answer.put(None)


def writing(child: Child, cycle: int, writer: int) -> None:
    number = 0
    while child.ask(f"run/R-{writer % 5 + 1:04}", f"{cycle:02}-{writer:02}-{number:05}"):
        number += 1


def one_cycle(folder: Path, cycle: int, asked: Asked) -> None:
    child = Child(folder, asked)
    threads = [
        threading.Thread(target=writing, args=(child, cycle, writer)) for writer in range(WRITERS)
    ]
    for thread in threads:
        thread.start()
    time.sleep(random.Random(cycle).uniform(0.2, 0.5))
    child.kill()
    for thread in threads:
        thread.join(10)


def test_twenty_kills_lose_nothing_that_was_answered_and_double_nothing(tmp_path: Path) -> None:
    folder, asked = tmp_path / "site", Asked()
    Ledger.create(folder)

    for cycle in range(KILLS):
        one_cycle(folder, cycle, asked)

    unanswered = asked.unanswered()
    with Ledger.open(folder, lambda: datetime.now(UTC)) as ledger:
        stored = {event.key: event for event in ledger.read_all()}
        times = Counter(event.key for event in ledger.read_all())
        stored_unanswered = [key for key in unanswered if key in stored]
        missing = [key for key in asked.answers if key not in stored]
        doubled = [key for key, number in times.items() if number > 1]
        moved = [k for k, seq in asked.answers.items() if k in stored and stored[k].seq != seq]
        print(
            f"\n{KILLS} kills: {len(asked.sent)} sent, {len(asked.answers)} answered, "
            f"{len(missing)} missing, {len(doubled)} doubled, {len(unanswered)} unanswered, "
            f"{len(stored_unanswered)} of them stored"
        )

        assert len(asked.answers) > KILLS * WRITERS  # there was load
        assert unanswered  # and the kills fell into it
        assert (missing, doubled, moved) == ([], [], [])
        assert ledger.verify() == []
        check_copy(ledger.back_up(tmp_path / "copy.db"))

        for key in unanswered:
            ledger.submit(entry(asked.sent[key], key)).result(10)
        again = Counter(event.key for event in ledger.read_all())
        assert set(again) == set(asked.sent)
        assert set(again.values()) == {1}
        assert ledger.verify() == []

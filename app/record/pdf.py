"""Has records printed by one warm child process, so that no page waits while a record is laid out.

Rules: one record at a time; the child runs with low priority; a child that takes longer than the
limit is ended and the next record gets a fresh one; a child is replaced after some records, since
a long-lived printer keeps what it once needed.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from datetime import timedelta
from typing import TYPE_CHECKING

from app.record.printing import Job, NotPrinted, Printed, print_record
from app.record.trouble import RecordTrouble

if TYPE_CHECKING:
    from multiprocessing.connection import Connection
    from multiprocessing.context import SpawnProcess

LIMIT = timedelta(minutes=3)  # a record of 5000 steps took one minute on a busy machine
RECORDS_PER_CHILD = 20
NICENESS = 10


class Renderer:
    """The printing room: give it a document, get the unsealed PDF. Safe to call from any thread."""

    def __init__(self, limit: timedelta = LIMIT) -> None:
        self._limit_s = limit.total_seconds()
        self._turn = threading.Lock()
        self._child: SpawnProcess | None = None
        self._line: Connection | None = None
        self._printed = 0

    def warm(self) -> None:
        """Start the child now, so that the first record does not wait for it."""
        with self._turn:
            self._connected()

    def render(self, job: Job) -> Printed:
        """Return the printed record.

        Raises:
            RecordTrouble: the printer is missing, took too long or died.
        """
        with self._turn:
            line = self._connected()
            try:
                line.send(job)
                if not line.poll(self._limit_s):
                    raise self._ended(
                        f"The record was not printed within {self._limit_s:g} s. Ask for it again; "
                        "every event is kept."
                    )
                answer: Printed | NotPrinted = line.recv()
            except (EOFError, OSError) as failure:
                raise self._ended(
                    "The record was not printed: the printing process ended. Ask for it again; "
                    "every event is kept. Whoever keeps the server finds the reason in its log."
                ) from failure
            self._count()
        if isinstance(answer, NotPrinted):
            raise RecordTrouble(answer.sentence)
        return answer

    def close(self) -> None:
        """End the child."""
        with self._turn:
            self._end()

    def _connected(self) -> Connection:
        if self._line is None or self._child is None or not self._child.is_alive():
            self._end()
            spawn = multiprocessing.get_context("spawn")
            self._line, theirs = spawn.Pipe()
            self._child = spawn.Process(target=serve, args=(theirs,), daemon=True, name="printer")
            self._child.start()
            theirs.close()
        return self._line

    def _count(self) -> None:
        self._printed += 1
        if self._printed >= RECORDS_PER_CHILD:
            self._end()

    def _ended(self, sentence: str) -> RecordTrouble:
        self._end()
        return RecordTrouble(sentence)

    def _end(self) -> None:
        if self._line is not None:
            self._line.close()
        if self._child is not None:
            self._child.kill()
            self._child.join()
            self._child.close()
        self._line, self._child, self._printed = None, None, 0


def serve(line: Connection) -> None:
    """Print what comes down the line until it closes: the life of the child."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent alone decides when to stop
    os.nice(NICENESS)
    while True:
        try:
            job: Job = line.recv()
        except EOFError:
            return
        line.send(print_record(job))

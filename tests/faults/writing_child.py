"""A server's writing in a process of its own, for tests that end it without warning.

It reads errands as lines `stream key` and answers each with `key seq` once it is on the disk.
"""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable
from concurrent.futures import Future
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

from app.ledger.ledger import Draft, Ledger, Transaction


def entry(stream: str, key: str) -> Callable[[Transaction], str]:
    def errand(transaction: Transaction) -> str:
        known = transaction.receipt(stream, key)
        if known is not None:
            return known.answer
        event = transaction.append(Draft(stream, "EntryMade", {"part": key[-2:]}, by="JB"), key)
        transaction.keep_receipt(stream, key, fingerprint=stream, answer=str(event.seq))
        return str(event.seq)

    return errand


def main(folder: Path) -> None:
    """Answer what is asked until the input ends."""
    door = threading.Lock()

    def say(line: str) -> None:
        with door:
            sys.stdout.write(line + "\n")
            sys.stdout.flush()

    def answer(key: str, future: Future[str]) -> None:
        say(f"{key} {future.result()}")

    with Ledger.open(folder, lambda: datetime.now(UTC)) as ledger:
        say("ready")
        for line in sys.stdin:
            stream, key = line.split()
            ledger.submit(entry(stream, key)).add_done_callback(partial(answer, key))


if __name__ == "__main__":
    main(Path(sys.argv[1]))

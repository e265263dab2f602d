"""The gates that ask a file or a process: verification, size, start-up, flushes, kills."""

from __future__ import annotations

import re
import subprocess
import sys
import time
from pathlib import Path

from app.ledger.chain import ledger_breaks
from app.ledger.database import FILE, read_engine
from tests.bench.figures import Spread, over
from tests.bench.talk import ROOT, Server

SELECT = "SELECT stream, seq, at, by, kind, hash, canonical FROM events ORDER BY stream, seq"
BYTES = "SELECT count(*), sum(length(canonical)) FROM events"
IMPORTS = "import fastapi, sqlmodel"


def verifying(folder: Path, pairs: int) -> tuple[Spread, float]:
    """Return gate 12, and how many events a second were verified."""
    engine = read_engine(folder / FILE)
    select, verify = [], []
    count = 0
    with engine.connect() as connection:
        for _ in range(pairs):
            started = time.perf_counter()
            count = sum(1 for _ in connection.exec_driver_sql(SELECT))
            selected = time.perf_counter()
            broken = ledger_breaks(connection)
            verify.append(time.perf_counter() - selected)
            select.append(selected - started)
            if broken:
                raise RuntimeError(f"a seeded chain does not hold: {broken[0]}")
    engine.dispose()
    return over(select, verify), count / min(verify)


def bytes_per_event(folder: Path) -> Spread:
    """Return gate 13, of a file in which little stands beside the events."""
    engine = read_engine(folder / FILE)
    with engine.connect() as connection:
        count, canonical = connection.exec_driver_sql(BYTES).one()
    engine.dispose()
    share = (folder / FILE).stat().st_size / canonical
    return Spread(share, share, share) if count else Spread(0, 0, 0)


def starting(folder: Path, pairs: int) -> tuple[Spread, float]:
    """Return gate 16, and the best start in seconds."""
    imports, starts = [], []
    for _ in range(pairs):
        started = time.perf_counter()
        subprocess.run([sys.executable, "-c", IMPORTS], check=True)
        imports.append(time.perf_counter() - started)
        server = Server(folder, plain=True)
        starts.append(server.start_s)
        server.stop()
    return over(starts, imports), min(starts)


def by_the_tests() -> dict[str, Spread]:
    """Return gates 14 and 15, as the tests of faults measure them."""
    flushes = _told("tests/faults/test_flush.py", r"flushes per answer: ([0-9.]+)")
    kills = _told("tests/faults/test_kill_server.py", r'"missing": ([0-9]+)')
    found: dict[str, Spread] = {}
    if flushes is not None:
        found |= {
            "14a": Spread(flushes, flushes, flushes),
            "14b": Spread(flushes, flushes, flushes),
        }
    if kills is not None:
        found["15"] = Spread(kills, kills, kills)
    return found


def _told(test: str, pattern: str) -> float | None:
    asked = [sys.executable, "-m", "pytest", "-q", "-s", "-p", "no:cacheprovider", test]
    said = subprocess.run(asked, cwd=ROOT, capture_output=True, text=True, check=False)
    found = re.search(pattern, said.stdout)
    if said.returncode != 0 or found is None:
        sys.stderr.write(said.stdout[-2000:])
        return None
    return float(found[1])

"""Measures the gates: `python -m tests.bench` (some minutes), `--quick` for every build.

Absolute figures depend on the machine and its neighbours; what counts is each ratio, taken within
one run. With --quick the gates are held at their *must* limits on smaller databases.
"""

from __future__ import annotations

import argparse
import itertools
import os
import sys
import tempfile
from contextlib import closing
from pathlib import Path

from tests.bench import still
from tests.bench.cases import cases, measure
from tests.bench.crowd import Crowd
from tests.bench.durable import IN_MEMORY, Durable, file_system, flush_ms
from tests.bench.gates import from_rounds, worst
from tests.bench.report import Report, machine
from tests.bench.seeding import Asked, Seeded, make
from tests.bench.talk import Server

LITTLE = 1_000
ATTEMPTS = 2  # a gate that fails is tried once more, in a run of its own


class Bench:
    """One run of the bench in a folder on the disk that is judged."""

    def __init__(self, folder: Path, asked: argparse.Namespace) -> None:
        self.folder = folder
        self.asked = asked
        self.rounds = 10 if asked.quick else 25
        self.pairs = 2 if asked.quick else 4
        self.seconds = 2.0 if asked.quick else 4.0
        self.report = Report(machine=machine(folder, file_system(folder), flush_ms(folder)))

    def run(self) -> Report:
        """Measure everything that was asked for."""
        small = self._made("small", LITTLE)
        large = self._made("large", self.asked.events)
        self.report.spreads["13"] = still.bytes_per_event(self._past())
        self._tell("start-up and verification")
        self.report.spreads["16"], start_s = still.starting(small.folder, 2 * self.pairs)
        self.report.spreads["12"], per_s = still.verifying(large.folder, self.pairs)
        self.report.lines.append(f"start-up {start_s:.2f} s; {per_s:,.0f} events verified a second")
        self._with_servers(small, large)
        if not self.asked.quick:
            self._tell("flushes and kills")
            self.report.spreads |= still.by_the_tests()
        return self.report

    def _with_servers(self, small: Seeded, large: Seeded) -> None:
        little, much = Server(small.folder), Server(large.folder)
        self.report.lines.append(
            f"start-up with {large.events:,} events behind: {much.start_s:.2f} s"
        )
        try:
            self._tell("cases with one client")
            with closing(little.line()) as line, closing(much.line()) as other:
                given = cases(line, small, other, large)
                raw = itertools.repeat(Durable(self.folder).insert)
                self.report.samples = measure({"D": raw, **given}, self.rounds)
                self.report.spreads |= from_rounds(self.report.samples)
                self._tell("many tablets")
                self._crowd(little, line.cookie, list(small.long[self.rounds + 2 : -1]))
            for name, server in (("few", little), ("many", much)):
                self.report.lines.append(f"memory, {name} events: {server.memory_mb():.0f} MB")
        finally:
            little.stop()
            much.stop()

    def _crowd(self, server: Server, cookie: str, runs: list[str]) -> None:
        crowd = Crowd(
            server=server, cookie=cookie, runs=runs, seconds=self.seconds, pairs=self.pairs
        )
        self.report.spreads |= crowd.measure()
        self.report.lines += crowd.lines()
        self.report.failed += crowd.failed

    def _made(self, name: str, events: int) -> Seeded:
        self._tell(f"a site with {events:,} events")
        half = self.rounds // 2 + 3
        crowd = self.pairs * 32 + 4
        asked = Asked(
            past_events=events,
            few=half,
            many=half if name == "small" else 0,
            short=self.rounds + 3 if name == "small" else 0,
            long=self.rounds + 3 + crowd if name == "small" else 1,
        )
        return make(self.folder / name, asked)

    def _past(self) -> Path:
        return make(self.folder / "past", Asked(past_events=50_000)).folder

    def _tell(self, what: str) -> None:
        print(f"... {what}", file=sys.stderr, flush=True)


def asked_for() -> argparse.Namespace:
    """Return what was asked on the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("--quick", action="store_true", help="10 rounds, 100,000 events, at must")
    parser.add_argument("--events", type=int, help="how many events the large site has")
    parser.add_argument("--folder", type=Path, default=Path.cwd(), help="on the disk to be judged")
    parser.add_argument("--json", type=Path, default=Path("bench.json"))
    asked = parser.parse_args()
    asked.events = asked.events or (100_000 if asked.quick else 1_000_000)
    return asked


def main() -> int:
    """Measure, tell, and return 1 if a gate fails twice."""
    asked = asked_for()
    if (kind := file_system(asked.folder)) in IN_MEMORY:
        print(f"{asked.folder} is on {kind}: a flush costs nothing there. Give --folder on a disk.")
        return 2
    for _ in range(ATTEMPTS):
        with tempfile.TemporaryDirectory(dir=asked.folder, prefix="bench-") as name:
            report = Bench(Path(name), asked).run()
        report.write(asked.json)
        print(report.table(), report.cases(), *report.lines, *report.failed, sep="\n", flush=True)
        print(f"load {os.getloadavg()}; all figures in {asked.json}", flush=True)
        if not worst(report.verdicts()) and not report.failed:
            return 0
    return 1


if __name__ == "__main__":
    sys.exit(main())

"""The gates of many tablets: throughput, tails, and what secrets and pages do to a press.

Each pair is measured A B A B, and the ratio is taken pair by pair.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from tests.bench.figures import Spread, over, quantile
from tests.bench.load import Task, Told, in_its_own_process
from tests.bench.talk import Server

PER_SECOND = 25  # what fifty tablets ask in a busy hour: two presses a second each is far above it


@dataclass(slots=True, kw_only=True)
class Crowd:
    """Loads put on one server, and what they came to."""

    server: Server
    cookie: str
    runs: list[str]  # open, of 300 steps, none begun
    seconds: float
    pairs: int
    failed: list[str] = field(default_factory=list)
    told: dict[str, list[Told]] = field(default_factory=dict)

    def measure(self) -> dict[str, Spread]:
        """Return gates 5 to 8."""
        for _ in range(self.pairs):
            self._closed("1 tablet", 1)
            self._closed("50 tablets", 50)
        for _ in range(self.pairs):
            self._open("alone")
            self._open("beside secrets", sign_offs=4)
            self._open("beside pages", pages_per_second=5)
        rate = {name: [len(t.ms) / t.seconds for t in told] for name, told in self.told.items()}
        p95 = {name: [quantile(t.ms, 0.95) for t in told] for name, told in self.told.items()}
        many = self.told["50 tablets"]
        return {
            "5": over(rate["50 tablets"], rate["1 tablet"]),
            "6": Spread.of([quantile(t.ms, 0.99) / quantile(t.ms, 0.5) for t in many]),
            "7": over(p95["beside secrets"], p95["alone"]),
            "8": over(p95["beside pages"], p95["alone"]),
        }

    def lines(self) -> list[str]:
        """Return what each load came to, as lines for a person."""
        found = []
        for name, told in self.told.items():
            ms = [each for one in told for each in one.ms]
            rate = len(ms) / sum(one.seconds for one in told)
            also = f"; {sum(t.sign_offs for t in told)} secrets" if told[0].sign_offs else ""
            also += f"; {sum(t.pages for t in told)} pages" if told[0].pages else ""
            tails = ", ".join(f"p{s * 100:.0f} {quantile(ms, s):.1f}" for s in (0.5, 0.95, 0.99))
            found.append(f"{name:16} {rate:6.0f} presses/s   {tails} ms{also}")
        return found

    def _closed(self, name: str, tablets: int) -> None:
        self._work(name, Task(port=0, cookie="", seconds=self.seconds, tablets=tablets))

    def _open(self, name: str, sign_offs: int = 0, pages_per_second: float = 0) -> None:
        task = Task(port=0, cookie="", seconds=self.seconds, per_second=PER_SECOND)
        task.sign_offs, task.pages_per_second = sign_offs, pages_per_second
        task.page = f"/runs/{self.runs[0]}"
        self._work(name, task)

    def _work(self, name: str, task: Task) -> None:
        task.port, task.cookie = self.server.port, self.cookie
        share = 12 if task.tablets else 2
        task.runs = [self.runs.pop() for _ in range(share)]
        told = in_its_own_process(task)
        self.failed += [f"{name}: {each}" for each in told.failed]
        self.told.setdefault(name, []).append(told)

"""What tablets say that they have not sent yet: a run is not closed over it without a reason."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

MOST = 500  # tablets of one run
MOST_ENTRIES = 9999


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """A tablet's last word on one run."""

    device: str
    count: int
    at: datetime

    def words(self) -> str:
        """Return it as a sentence."""
        entries = "1 unsent entry" if self.count == 1 else f"{self.count} unsent entries"
        return f"Tablet {self.device[:4]} last reported {entries} at {self.at:%H:%M:%S} UTC."


class Unsent:
    """The last report of each tablet, in memory: after a restart the tablets report again."""

    def __init__(self) -> None:
        self._reports: dict[str, dict[str, Report]] = {}

    def report(self, run: str, device: str, count: int, at: datetime) -> None:
        """Take a tablet's report with its watch."""
        of_run = self._reports.setdefault(run, {})
        if count <= 0:
            of_run.pop(device, None)
        elif device in of_run or len(of_run) < MOST:
            of_run[device] = Report(device=device, count=min(count, MOST_ENTRIES), at=at)

    def arrived(self, run: str, device: str) -> None:
        """Note that one of a tablet's entries has come in."""
        last = self._reports.get(run, {}).get(device)
        if last is not None:
            self.report(run, device, last.count - 1, last.at)

    def left(self, run: str) -> tuple[Report, ...]:
        """Return the reports of tablets that hold something back."""
        return tuple(self._reports.get(run, {}).values())

"""What was measured, as JSON and as a table that people can read."""

from __future__ import annotations

import json
import os
import platform
import sqlite3
import sys
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from importlib.metadata import version
from pathlib import Path
from typing import Any

from tests.bench.cases import Samples
from tests.bench.figures import Spread, quantile
from tests.bench.gates import GATES, Verdict

PACKAGES = ("fastapi", "starlette", "uvicorn", "sqlalchemy", "jinja2", "argon2-cffi", "rfc8785")
SHARES = (0.5, 0.95, 0.99)


def machine(folder: Path, kind: str, flushes: list[float]) -> dict[str, Any]:
    """Return what the figures depend on."""
    return {
        "python": sys.version.split()[0],
        "system": platform.platform(),
        "cores": os.cpu_count(),
        "sqlite": sqlite3.sqlite_version,
        "packages": {name: version(name) for name in PACKAGES},
        "disk": {"folder": str(folder), "file_system": kind},
        "flush_ms": {f"p{s * 100:.0f}": round(quantile(flushes, s), 3) for s in SHARES},
        "load_before": os.getloadavg(),
    }


@dataclass(slots=True, kw_only=True)
class Report:
    """All that one run of the bench came to."""

    machine: dict[str, Any]
    spreads: dict[str, Spread] = field(default_factory=dict)
    samples: dict[str, Samples] = field(default_factory=dict)
    lines: list[str] = field(default_factory=list)
    failed: list[str] = field(default_factory=list)  # answers that were not good

    def verdicts(self) -> dict[str, Verdict]:
        """Return how each gate stands."""
        return {gate.number: gate.verdict(self.spreads.get(gate.number)) for gate in GATES}

    def table(self) -> str:
        """Return the gates as a table."""
        told = self.verdicts()
        rows = ["| # | gate | measured | quartiles | must | good | stands |", "|---" * 7 + "|"]
        for gate in GATES:
            found = self.spreads.get(gate.number)
            middle = f"{found.median:.2f}" if found else "-"
            sides = f"{found.low:.2f} to {found.high:.2f}" if found else "-"
            sign = ">=" if gate.floor else "<="
            good = f"{sign} {gate.good:g}" if gate.good is not None else "-"
            cells = (gate.number, gate.what, middle, sides, f"{sign} {gate.must:g}", good)
            rows.append(f"| {' | '.join(cells)} | {told[gate.number]} |")
        return "\n".join(rows)

    def cases(self) -> str:
        """Return the cases with one client, in ms; for orientation only."""
        rows = ["case            p50     p95     p99   ms"]
        for name, found in self.samples.items():
            figures = "  ".join(f"{found.p(share):6.2f}" for share in SHARES)
            rows.append(f"{name:12} {figures}")
        return "\n".join(rows)

    def write(self, path: Path) -> None:
        """Write everything as JSON."""
        told: Mapping[str, Any] = {
            "machine": {**self.machine, "load_after": os.getloadavg()},
            "gates": {
                gate.number: {
                    "what": gate.what,
                    "must": gate.must,
                    "good": gate.good,
                    "measured": asdict(self.spreads[gate.number]),
                    "stands": gate.verdict(self.spreads[gate.number]),
                }
                for gate in GATES
                if gate.number in self.spreads
            },
            "cases_ms": {
                name: {f"p{s * 100:.0f}": round(found.p(s), 3) for s in SHARES}
                for name, found in self.samples.items()
            },
            "lines": self.lines,
            "failed": self.failed,
        }
        path.write_text(json.dumps(told, indent=1), "utf-8")

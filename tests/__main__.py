"""Everything that must pass, one after the other: style, types, direction of imports, tests."""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

HOME = Path(__file__).resolve().parent.parent
BIN = Path(sys.executable).parent
CHECKS = {
    "style": ("ruff", "check", "."),
    "format": ("ruff", "format", "--check", "."),
    "types": ("mypy",),
    "direction of imports": ("lint-imports",),
    "tests, two at a time": ("pytest", "-n", "2", "--dist", "worksteal", "-m", "not alone"),
    "tests that run alone": ("pytest", "-m", "alone"),
}


def main() -> int:
    """Run each check to its end; say at the end which passed. 0 if all did, else 1."""
    told = []
    for name, (program, *rest) in CHECKS.items():
        print(f"\n== {name}: {program} {' '.join(rest)}".rstrip(), flush=True)
        started = time.monotonic()
        answer = subprocess.run([str(BIN / program), *rest], cwd=HOME, check=False).returncode
        took = time.monotonic() - started
        told.append((answer == 0, f"{name}: {'passed' if answer == 0 else 'FAILED'}, {took:.0f} s"))
    print("\n" + "\n".join(line for _, line in told), flush=True)
    return 0 if all(passed for passed, _ in told) else 1


sys.exit(main())

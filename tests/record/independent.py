"""What checkers that are not ours say of a record: archival (PDF/A-3a) and accessible (PDF/UA-1).

Both are young tools: what they pass is "passed by them", no more. Neither is the reference checker.
"""

from __future__ import annotations

import json
import re
import subprocess
from pathlib import Path

import page

from tests.conftest import needs

# The seal's field is invisible and lies outside every page, so there is nothing of it to be read
# out; one of the two checkers passes it, the other asks for a tag all the same.
OF_THE_SEAL = "FRM-003"
LENGTHS = "PDFA3A-STREAM-LENGTH-001"
STREAM = re.compile(rb"/Length (\d+)[^>]*>>\s*stream\r?\n")


def faults_by_page(file: Path) -> list[str]:
    """Return the rules that the first checker finds broken, of both standards.

    It takes the last byte of a stream for a part of the line end that follows, where that byte is
    a carriage return; so what it says of lengths counts only where a length is really wrong.
    """
    excused = LENGTHS if lengths_hold(file.read_bytes()) else ""
    return [
        f"{profile} {failure.rule_id}: {failure.message}"
        for profile in ("3a", "ua1")
        for failure in page.validate_pdf(str(file), profile=profile).failures
        if failure.rule_id != excused
    ]


def lengths_hold(data: bytes) -> bool:
    """Say whether every stream is exactly as long as it says."""
    found = list(STREAM.finditer(data))
    return bool(found) and all(
        data[each.end() + int(each[1]) :].startswith((b"\nendstream", b"\r\nendstream"))
        for each in found
    )


def rules_held(file: Path) -> dict[str, int]:
    """Return how many rules the first checker has tried and found held."""
    return {
        profile: page.validate_pdf(str(file), profile=profile).rules.passed
        for profile in ("3a", "ua1")
    }


def errors_aloud(file: Path) -> list[str]:
    """Return the errors that the second checker finds, but for the one of the seal's field."""
    done = subprocess.run(
        [needs("outloud"), "--json", "-", "--fail-on", "never", "--quiet", str(file)],
        capture_output=True,
        text=True,
        check=True,
        timeout=120,
    )
    told = json.loads(done.stdout)
    found = [finding for each in told["results"] for finding in each["findings"]]
    errors = [f"{f['rule']} {f['message']}" for f in found if f["severity"] == "error"]
    return [each for each in errors if not each.startswith(OF_THE_SEAL)]

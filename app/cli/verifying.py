"""Errands of whoever doubts or keeps: verify, the site's log, backup and the drill of restoring."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from app.cli.told import CANNOT, NO, YES, Trouble, read
from app.desk.auditing import audit, site_log
from app.desk.keeping import back_up_site, restore_site
from app.record.sources import lines_of
from app.record.verify import verify

if TYPE_CHECKING:
    import argparse
    from pathlib import Path

    from app.desk.auditing import Audit

WORST_LAST = (YES, CANNOT, NO)


def verify_files(asked: argparse.Namespace) -> int:
    """Say whether each record is whole, and whether a site's folder holds; the worst answer counts."""
    if not asked.files and asked.ledger is None:
        raise Trouble("Name a record to verify, or a site's folder after --ledger.")
    codes = [_record(file, asked) for file in asked.files]
    if asked.ledger is not None:
        codes.append(_ledger(asked.ledger))
    return max(codes, key=WORST_LAST.index)


def _record(file: Path, asked: argparse.Namespace) -> int:
    log = None if asked.site_log is None else read(asked.site_log)
    folder: Path | None = asked.photos
    report = verify(
        read(file),
        asked.root,
        site_log=log,
        photo=None if folder is None else lambda sha256: _photo(folder, sha256),
    )
    if len(asked.files) > 1:
        print(f"{file}:")
    print(report)
    return report.exit_code


def _photo(folder: Path, sha256: str) -> bytes | None:
    found = sorted(folder.glob(f"{sha256}.*"))
    return found[0].read_bytes() if found else None


def _ledger(folder: Path) -> int:
    found = audit(folder)
    for sentence in found.faults:
        print(sentence)
    if found.faults:
        print(f"What is kept in {folder} does NOT hold.")
        return NO
    print(_holds(folder, found))
    return YES


def _holds(folder: Path, found: Audit) -> str:
    return (
        f"What is kept in {folder} holds: {found.events} events in {found.streams} streams, "
        f"{found.photos} photos, {found.records} sealed records."
    )


def write_site_log(asked: argparse.Namespace) -> int:
    """Write the site's own stream, whole, as it is kept: to be laid beside records."""
    events = site_log(asked.folder)
    asked.out.write_bytes(lines_of(events))
    print(f"{asked.out} is the site's log: {len(events)} events. Its head is {events[-1].hash}.")
    return YES


def back_up(asked: argparse.Namespace) -> int:
    """Make a backup that was looked through; a running server is not disturbed."""
    kept = back_up_site(asked.folder, asked.into, datetime.now(UTC))
    print(f"{kept.folder} is a backup of {kept.files} files. {_holds(kept.folder, kept.audit)}")
    print("The passphrase of the sealing key is not in it. Keep it elsewhere.")
    return YES


def restore(asked: argparse.Namespace) -> int:
    """Put a backup into a new folder, and say whether all of it holds."""
    kept = restore_site(asked.backup, asked.into)
    for sentence in kept.audit.faults:
        print(sentence)
    if kept.audit.faults:
        return NO
    print(_holds(kept.folder, kept.audit))
    print("Put the passphrase of the sealing key beside the keys, then serve this folder.")
    return YES

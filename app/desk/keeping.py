"""Keeping a site: a backup that is known to be good, and the drill of putting it back.

A backup is a folder: the ledger (copied beside the writer, then checked), every photo and sealed
record, the certificates and the locked sealing key, and a manifest with the SHA-256 of each file.
Not in it: the passphrase of the key and the root's own key. They are kept elsewhere, or whoever
finds a backup could seal in the site's name.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from app.desk.auditing import Audit, audit
from app.desk.founding import KEYS, PHOTOS, RECORDS
from app.ledger.backup import back_up
from app.ledger.canonical import digest
from app.ledger.database import FILE
from app.ledger.trouble import LedgerTrouble

BACKUPS = "backups"
MANIFEST = "manifest.json"
KEY_FILES = ("root.pem", "signing.pem", "signing-key.pem")
NAME = "%Y%m%dT%H%M%SZ"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A backup that was made or put back."""

    folder: Path
    files: int
    audit: Audit


def back_up_site(folder: Path, into: Path | None, now: datetime) -> Kept:
    """Make a backup of a site, beside a running server or not.

    Args:
        folder: the site's.
        into: where backups are kept; the site's own `backups` if not given.
        now: the server's time, which names the backup.

    Raises:
        LedgerTrouble: it could not be made, or what was copied does not hold; nothing is left then.
    """
    target = (into or folder / BACKUPS) / f"{now.astimezone(UTC):{NAME}}"
    if target.exists():
        raise LedgerTrouble("exists", f"{target} is there already. Nothing was written.")
    making = target.with_name(f"{target.name}.making")
    shutil.rmtree(making, ignore_errors=True)
    making.mkdir(parents=True)
    try:
        back_up(folder / FILE, making / FILE)  # first: what it names is copied after it
        for kind in (PHOTOS, RECORDS):
            _copy_all(folder / kind, making / kind)
        _copy_keys(folder / KEYS, making / KEYS)
        found = audit(making)
        if found.faults:
            raise LedgerTrouble("corrupt", f"The copy does not hold: {found.faults[0]}")
        files = dict(_digests(making))
        told = {"made": f"{now.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}", "files": files}
        (making / MANIFEST).write_text(json.dumps(told, indent=1, sort_keys=True))
        making.rename(target)
    finally:
        shutil.rmtree(making, ignore_errors=True)
    return Kept(folder=target, files=len(files), audit=found)


def restore_site(backup: Path, into: Path) -> Kept:
    """Put a backup into a new folder, and look through all of it.

    Raises:
        LedgerTrouble: the backup is not whole, or the folder is there already.
    """
    if into.exists():
        raise LedgerTrouble("exists", f"{into} is there already. Nothing was written.")
    files = _manifest(backup)
    for name, sha256 in files.items():
        path = backup / name
        if not path.is_file():
            raise LedgerTrouble("corrupt", f"{name} is not in the backup. Nothing was written.")
        if digest(path.read_bytes()) != sha256:
            raise LedgerTrouble(
                "corrupt", f"{name} is not as it was backed up. Nothing was written."
            )
    making = into.with_name(f"{into.name}.making")
    shutil.rmtree(making, ignore_errors=True)
    for name in files:
        (making / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(backup / name, making / name)
    making.rename(into)
    return Kept(folder=into, files=len(files), audit=audit(into))


def last_backup(folder: Path) -> datetime | None:
    """Return when the last backup in the site's own folder was made, None if there is none."""
    names = [each.parent.name for each in (folder / BACKUPS).glob(f"*/{MANIFEST}")]
    made = [datetime.strptime(name, NAME).replace(tzinfo=UTC) for name in names if _is_time(name)]
    return max(made, default=None)


def _is_time(name: str) -> bool:
    return len(name) == 16 and name[8] == "T" and (name[:8] + name[9:15]).isdigit()


def _manifest(backup: Path) -> Mapping[str, str]:
    try:
        told = json.loads((backup / MANIFEST).read_text())
        files = {str(name): str(sha256) for name, sha256 in told["files"].items()}
    except (OSError, ValueError, KeyError, AttributeError) as failure:
        sentence = f"{backup} is no backup: its manifest cannot be read. Nothing was written."
        raise LedgerTrouble("missing", sentence) from failure
    strange = [name for name in files if Path(name).is_absolute() or ".." in Path(name).parts]
    if strange or FILE not in files:
        raise LedgerTrouble("corrupt", f"The manifest of {backup} names other files than a site's.")
    return files


def _copy_all(source: Path, target: Path) -> None:
    target.mkdir(parents=True, exist_ok=True)
    for path in sorted(source.glob("*")):
        if path.is_file() and not path.name.startswith("part-") and path.suffix != ".part":
            shutil.copy2(path, target / path.name)


def _copy_keys(source: Path, target: Path) -> None:
    target.mkdir(mode=0o700)
    for name in KEY_FILES:
        shutil.copy2(source / name, target / name)


def _digests(folder: Path) -> Iterator[tuple[str, str]]:
    for path in sorted(folder.rglob("*")):
        if path.is_file():
            yield path.relative_to(folder).as_posix(), digest(path.read_bytes())

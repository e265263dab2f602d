"""Photos and other files, kept under the SHA-256 of their bytes."""

from __future__ import annotations

import errno
import os
import re
import tempfile
from pathlib import Path

from app.ledger.canonical import digest
from app.ledger.database import flush_folder
from app.ledger.trouble import LedgerTrouble

_SHA256 = re.compile(r"[0-9a-f]{64}", re.ASCII)
_SUFFIX = re.compile(r"[.][a-z0-9]{1,8}", re.ASCII)


class Blobs:
    """A folder of files that never change; their name is their digest."""

    def __init__(self, folder: Path) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self._folder = folder

    def keep(self, content: bytes, suffix: str) -> str:
        """Keep bytes and return their SHA-256; they are on the disk when this returns.

        Raises:
            ValueError: the suffix is not one like `.jpg`.
            LedgerTrouble: the disk did not take them.
        """
        if not _SUFFIX.fullmatch(suffix):
            raise ValueError(f"{suffix!r} is not a suffix like '.jpg'")
        sha256 = digest(content)
        if self._whole(sha256) != content:
            try:
                self._write(content, self._folder / (sha256 + suffix))
            except OSError as failure:
                full = failure.errno in {errno.ENOSPC, errno.EDQUOT}
                raise LedgerTrouble("disk_full" if full else "disk_fault") from failure
        return sha256

    def read(self, sha256: str) -> bytes | None:
        """Return the bytes of a digest, None if they were never kept.

        Raises:
            LedgerTrouble: the file is no longer what its name says.
        """
        content = self._whole(sha256)
        if content is not None and digest(content) != sha256:
            sentence = f"The file {sha256[:12]} is damaged. Put it back from the last backup."
            raise LedgerTrouble("corrupt", sentence)
        return content

    def path(self, sha256: str) -> Path | None:
        """Return where the file of a digest lies, None if it was never kept."""
        if not _SHA256.fullmatch(sha256):
            return None
        return next(iter(sorted(self._folder.glob(sha256 + ".*"))), None)

    def _whole(self, sha256: str) -> bytes | None:
        path = self.path(sha256)
        return None if path is None else path.read_bytes()

    def _write(self, content: bytes, target: Path) -> None:
        descriptor, name = tempfile.mkstemp(dir=self._folder, prefix="part-")
        part = Path(name)
        try:
            with os.fdopen(descriptor, "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(descriptor)
            part.rename(target)
        finally:
            part.unlink(missing_ok=True)
        flush_folder(self._folder)

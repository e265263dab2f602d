"""When the ledger cannot keep or give back: one sentence for the person at the tablet, one code.

SQLite's own names decide (`sqlite_errorname`), never the wording of a message.
"""

from __future__ import annotations

from typing import Literal

Code = Literal[
    "disk_full",
    "read_only",
    "corrupt",
    "busy",
    "disk_fault",
    "replaced",
    "missing",
    "exists",
    "second_server",
    "newer",
    "network_disk",
    "closed",
    "not_kept",
]

SENTENCES: dict[Code, str] = {
    "disk_full": "Not saved: the server's disk is full. Write it on paper and call whoever keeps the server.",
    "read_only": "Not saved: the server may only read its ledger. Write it on paper and call whoever keeps the server.",
    "corrupt": "Not saved: the server's ledger is damaged and takes no more entries. Write it on paper and call whoever keeps the server.",
    "busy": "Not saved: another program is holding the server's ledger. Press again in a few seconds.",
    "disk_fault": "Not saved: the server's disk did not take it. Write it on paper and call whoever keeps the server.",
    "replaced": "Not saved: the server's ledger file was moved, deleted or replaced. Write it on paper and call whoever keeps the server.",
    "closed": "Not saved: the server is stopping. Press again when it is back.",
    "not_kept": "Not saved: the server could not keep this entry. Press again, and call whoever keeps the server if it happens twice.",
}

_BY_NAME: dict[str, Code] = {
    "FULL": "disk_full",
    "READONLY": "read_only",
    "CORRUPT": "corrupt",
    "NOTADB": "corrupt",
    "BUSY": "busy",
    "LOCKED": "busy",
    "IOERR": "disk_fault",
    "CANTOPEN": "disk_fault",
    "NOMEM": "disk_fault",
}

LASTING: frozenset[Code] = frozenset({"corrupt", "disk_fault", "replaced"})
"""After these the writer takes nothing more until the server is started again: what the disk
holds is not known (a failed flush may not be tried again and believed)."""


class LedgerTrouble(Exception):  # noqa: N818 - the world's trouble, named as people name it
    """The ledger cannot do what was asked; `sentence` is for a person, `code` for a program."""

    def __init__(self, code: Code, sentence: str = "") -> None:
        self.code: Code = code
        self.sentence = sentence or SENTENCES[code]
        super().__init__(self.sentence)


def trouble_code(failure: BaseException) -> Code | None:
    """Return which trouble of the disk or the file a failure is, None if it is neither."""
    if isinstance(failure, LedgerTrouble):
        return failure.code
    name = getattr(getattr(failure, "orig", failure), "sqlite_errorname", None)
    if not isinstance(name, str):
        return None
    return _BY_NAME.get(name.removeprefix("SQLITE_").split("_")[0])

"""What an author is told before a procedure is released: every fault, at its line.

Pure: texts in, report out. The form is read first; the rules of the trade judge each step whose form
is sound, so that one mistake is not reported twice.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from app.procedure.faults import Fault
from app.procedure.loader import fingerprint
from app.procedure.opening import open_text
from app.procedure.procedure_file import read_procedure
from app.procedure.registry import kind_of
from app.procedure.rules.blindness import blindness_faults
from app.procedure.rules.means import means_faults
from app.procedure.rules.references import reference_faults
from app.procedure.rules.seats import seat_faults
from app.procedure.rules.texts import text_faults
from app.procedure.rules.written import Written
from app.procedure.site_file import read_site

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    from app.procedure.model import Procedure, Site, Step

SITE = "site.toml"


@dataclass(frozen=True, slots=True)
class Report:
    """What was found in which files."""

    faults: tuple[Fault, ...]
    files: tuple[str, ...]
    unread: tuple[str, ...] = ()  # files that could not be read at all
    procedures: tuple[Procedure, ...] = ()  # those without a fault

    @property
    def exit_code(self) -> Literal[0, 1, 2]:
        """Return 0: can be released. 1: faults. 2: a file could not be read."""
        if self.unread:
            return 2
        return 1 if self.faults else 0

    def as_dict(self) -> dict[str, object]:
        """Return the report as plain data, for JSON."""
        names = ("file", "line", "key", "what", "mend")
        return {
            "exit_code": self.exit_code,
            "files": list(self.files),
            "unread": list(self.unread),
            "faults": [{name: getattr(fault, name) for name in names} for fault in self.faults],
        }


def check(texts: Mapping[str, bytes | str], pictures: Collection[str] | None = None) -> Report:
    """Return every fault of a site's file and of the procedures beside it.

    Args:
        texts: the text of each file by its name; one of them is `site.toml`, in whatever folder.
        pictures: the names of the files beside the procedures; None leaves pictures unlooked at.
    """
    name = next((file for file in texts if file.rsplit("/", 1)[-1] == SITE), None)
    if name is None:
        missing = Fault(SITE, 1, "site", "The site's file is not there.", "Name site.toml as well.")
        return Report((missing,), tuple(texts), unread=(SITE,))
    table, faults = open_text(texts[name], name)
    if table is None:
        return Report(tuple(faults), tuple(texts), unread=(name,))
    site = read_site(table)
    unread: list[str] = []
    sound: list[Procedure] = []
    for file, text in texts.items():
        if file != name:
            procedure, found = checked(text, file, site, pictures)
            faults += found
            sound += [procedure] if procedure is not None and not found else []
            unread += [] if procedure is not None else [file]
    return Report(tuple(sorted(faults)), tuple(texts), tuple(unread), tuple(sound))


def checked(
    text: bytes | str, file: str, site: Site, pictures: Collection[str] | None = None
) -> tuple[Procedure | None, list[Fault]]:
    """Return a procedure as far as it could be read, and all its faults; None if it is not TOML."""
    table, faults = open_text(text, file)
    if table is None:
        return None, faults
    procedure = read_procedure(table, site, fingerprint(text))
    written = Written.of(procedure, site, table)
    faults += reference_faults(written)
    spoilt = written.spoilt(faults)
    for step in procedure.steps:
        if step.number not in spoilt:
            faults += _rules(written, step, pictures)
    return procedure, sorted(faults)


def _rules(written: Written, step: Step, pictures: Collection[str] | None) -> Iterator[Fault]:
    yield from seat_faults(written, step)
    yield from means_faults(written, step, pictures)
    yield from blindness_faults(written, step)
    yield from text_faults(written, step)
    for fault in kind_of(step).rules(step, written.procedure):
        yield written.placed(fault)

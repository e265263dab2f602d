"""The whole check of texts: their form, the rules of the trade, the proof, the change since before."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import asdict, dataclass, replace
from typing import Literal, TypeVar

from app.procedure.check import SITE, Report, check
from app.procedure.faults import Fault
from app.procedure.loader import fingerprint, load_procedure, load_site
from app.procedure.model import Procedure, Site
from app.procedure.opening import open_text
from app.procedure.procedure_file import read_procedure
from app.procedure.rules.references import reference_faults
from app.procedure.rules.written import Written
from app.procedure.versions import Changes, compare
from app.proof.prove import BOUND, prove
from app.proof.report import NOT_SHOWN, Proved, Question

Found = TypeVar("Found", Fault, Question)


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """Everything that stands for or against a release."""

    report: Report
    proved: Proved
    faults: tuple[Fault, ...]  # of form, of the rules and of the proof, each at its line
    questions: tuple[Question, ...]
    changes: tuple[Changes, ...] = ()

    @property
    def exit_code(self) -> Literal[0, 1, 2]:
        """Return 0: can be released. 1: faults. 2: a file could not be read."""
        if self.report.unread:
            return 2
        return 1 if self.faults else 0

    def as_dict(self) -> dict[str, object]:
        """Return everything as plain data, for JSON."""
        return {
            "exit_code": self.exit_code,
            "files": list(self.report.files),
            "unread": list(self.report.unread),
            "faults": [asdict(fault) for fault in self.faults],
            "questions": [asdict(question) for question in self.questions],
            "proofs": [proof.as_dict() for proof in self.proved.proofs],
            "changes": [
                {
                    "id": each.new.id,
                    "weight": each.weight,
                    "changes": [asdict(change) for change in each.changes],
                }
                for each in self.changes
            ],
            "not_shown": list(NOT_SHOWN),
        }


def check_whole(
    texts: Mapping[str, bytes | str],
    pictures: Collection[str] | None = None,
    *,
    against: Mapping[str, bytes | str] | None = None,
    bound: int = BOUND,
) -> Checked:
    """Return all that is to be said of a site's procedures before they are released.

    Args:
        texts: the text of each file by its name, in the order of the campaign; one is `site.toml`.
        pictures: the names of the files beside the procedures; None leaves pictures unlooked at.
        against: earlier texts of these procedures, by name.
        bound: how many states may be looked at for each procedure.
    """
    report = check(texts, pictures)
    site_file = next((file for file in texts if file.rsplit("/", 1)[-1] == SITE), None)
    site = None if site_file is None else load_site(texts[site_file], site_file)[0]
    written: dict[str, Written] = {}
    if site is not None:
        read = {
            file: _written(text, file, site) for file, text in texts.items() if file != site_file
        }
        written = {file: each for file, each in read.items() if each is not None}
        proved = prove([each.procedure for each in written.values()], site, bound=bound)
    else:
        proved = Proved(proofs=())
    changes, unread = _changes(written, against or {}, site)
    faults = (*report.faults, *unread, *(_placed(fault, written) for fault in proved.faults))
    faults += tuple(_placed(fault, written) for each in changes for fault in each.faults())
    return Checked(
        report=report,
        proved=proved,
        faults=tuple(sorted(dict.fromkeys(faults))),
        questions=tuple(_placed(question, written) for question in proved.questions),
        changes=changes,
    )


def _written(text: bytes | str, file: str, site: Site) -> Written | None:
    """Return a procedure beside its text, if its form is sound."""
    table, faults = open_text(text, file)
    if table is None:
        return None
    written = Written.of(read_procedure(table, site, fingerprint(text)), site, table)
    return None if faults or any(reference_faults(written)) else written


def _placed(found: Found, written: Mapping[str, Written]) -> Found:
    """Return a fault or question at the line of its key."""
    at = written[found.file]
    if found.line:
        placed = at.placed(Fault(found.file, found.line, found.key, "", ""))
        return replace(found, line=placed.line)
    path = tuple(found.key.split("."))
    lines = (at.table.source.places.get(path[:long]) for long in range(len(path), 0, -1))
    return replace(found, line=next((line for line in lines if line is not None), 1))


def _changes(
    written: Mapping[str, Written], against: Mapping[str, bytes | str], site: Site | None
) -> tuple[tuple[Changes, ...], tuple[Fault, ...]]:
    """Return what changed since the earlier texts, and why one of them could not be compared."""
    if site is None:
        return (), ()
    new = {each.procedure.id: each.procedure for each in written.values()}
    changes: list[Changes] = []
    faults: list[Fault] = []
    for file, text in against.items():
        old, found = load_procedure(text, file, site)
        if old is None:
            faults += found
        elif old.id in new:
            changes.append(compare(old, new[old.id]))
        else:
            faults.append(_stranger(old, file))
    return tuple(changes), tuple(faults)


def _stranger(old: Procedure, file: str) -> Fault:
    what = f"{old.id} is not among the procedures that were given."
    return Fault(file, 1, "id", what, "Name its new text as well.")

"""Founding a site: its ledger, its keys, its file, its first people and procedures. Done once."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from pathlib import Path

from app.ledger.canonical import digest
from app.ledger.ledger import Ledger, Transaction
from app.ledger.stored import SITE, Draft, Stored
from app.people.register import Register
from app.procedure.loader import load_procedure, load_site
from app.procedure.model import Procedure, Site
from app.record.keys import SiteKeys
from app.run.crew import Person
from app.run.refusal import Refusal

KEYS = "keys"
PHOTOS = "photos"
RECORDS = "records"


class NotFounded(Exception):  # noqa: N818 - a sentence for whoever types the command
    """A site could not be founded, or its folder is not a site's; the message is for a person."""


def found(  # noqa: PLR0913 - what a site begins with
    folder: Path,
    site_text: bytes,
    people: Sequence[tuple[Person, str]],
    procedures: Mapping[str, bytes],
    *,
    reviewer: str,
    releaser: str,
    clock: Callable[[], datetime],
) -> None:
    """Make a site in a folder.

    Args:
        folder: made if it is not there; must not hold a site.
        site_text: the exact bytes of site.toml.
        people: everyone, each with a first secret.
        procedures: file name -> exact bytes, each to be released.
        reviewer: who reviewed the procedures.
        releaser: who releases them: another person, who may.
        clock: the server's time.

    Raises:
        NotFounded: a text has faults, or a person or a release is refused.
        LedgerTrouble: the folder holds a ledger, or cannot hold one.
    """
    site = _sound_site(site_text)
    loaded = [_sound_procedure(text, name, site) for name, text in procedures.items()]
    folder.mkdir(parents=True, exist_ok=True)
    Ledger.create(folder)
    keys = SiteKeys.found(folder / KEYS, site=site.name, now=clock())
    ledger = Ledger.open(folder, clock)
    try:
        ledger.submit(lambda tx: _write_founding(tx, site, site_text, keys.fingerprint)).result()
        register = Register(ledger)
        try:
            for person, secret in people:
                _accepted(register.add(person, secret, by=releaser))
            crew = register.crew(site)
        finally:
            register.close()
        for procedure, text in zip(loaded, procedures.values(), strict=True):
            _accepted(why_not_release(crew.may, reviewer, releaser))
            ledger.submit(
                release_errand(procedure, text, reviewer=reviewer, releaser=releaser)
            ).result()
    finally:
        ledger.close()


def why_not_release(
    may: Callable[[str, str], bool], reviewer: str, releaser: str
) -> Refusal | None:
    """Return why these two may not release what a site is founded with, or None."""
    if reviewer == releaser:
        return Refusal(
            code="release.same_person",
            sentence=f"{releaser} reviewed it. Another person must release it.",
        )
    if not may(releaser, "release-procedure"):
        return Refusal(
            code="release.role", sentence=f"{releaser} may not release procedures at this site."
        )
    return None


def release_errand(
    procedure: Procedure, text: bytes, *, reviewer: str, releaser: str
) -> Callable[[Transaction], Stored]:
    """Return the errand that keeps a procedure's exact bytes and announces its release."""

    def errand(tx: Transaction) -> Stored:
        tx.keep_text(procedure.sha256, text)
        body = {
            "procedure": procedure.id,
            "revision": procedure.revision,
            "title": procedure.title,
            "sha256": procedure.sha256,
            "reviewed_by": reviewer,
            "weight": "first",
        }
        return tx.append(Draft(SITE, "ProcedureReleased", body, releaser), secrets.token_hex(16))

    return errand


def _write_founding(tx: Transaction, site: Site, text: bytes, root: str) -> None:
    tx.keep_text(digest(text), text)
    body = {"name": site.name, "site_sha256": digest(text), "root": root}
    tx.append(Draft(SITE, "SiteFounded", body, ""), secrets.token_hex(16))


def _sound_site(text: bytes) -> Site:
    site, faults = load_site(text, "site.toml")
    if site is None or faults:
        raise NotFounded("\n".join(str(fault) for fault in faults))
    return site


def _sound_procedure(text: bytes, name: str, site: Site) -> Procedure:
    procedure, faults = load_procedure(text, name, site)
    if procedure is None or faults:
        raise NotFounded("\n".join(str(fault) for fault in faults))
    return procedure


def _accepted(answer: object) -> None:
    if isinstance(answer, Refusal):
        raise NotFounded(answer.sentence)

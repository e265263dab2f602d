"""Founding a real site: its folder, its ledger, its keys, and the keeper who lets the others in."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from app.cli.register import new_secret
from app.cli.told import YES, Trouble, open_site, read
from app.desk.desk import Desk
from app.desk.founding import NotFounded
from app.ledger.trouble import LedgerTrouble
from app.procedure.loader import load_site
from app.run.crew import Person

if TYPE_CHECKING:
    import argparse

KEEPING = "manage-people"


def add_parser(errands: argparse._SubParsersAction[argparse.ArgumentParser], folder: Path) -> None:  # type: ignore[type-arg,unused-ignore]
    """Add the errand to the command line."""
    founding = errands.add_parser("found", help="make a new site from its site.toml")
    founding.add_argument("file", type=Path, metavar="SITE.toml")
    founding.add_argument("id", metavar="ID", help="of the keeper: 2 to 4 capital letters")
    founding.add_argument("name", metavar="NAME", help="of the keeper")
    founding.add_argument("--folder", type=Path, default=folder, help=f"the site's ({folder})")
    founding.add_argument("--generate", action="store_true", help="draw the secret, print it")
    founding.set_defaults(errand=found_site)


def found_site(asked: argparse.Namespace) -> int:
    """Make the site, with one person in it: the keeper of the register."""
    text = read(asked.file)
    keeper = Person(id=asked.id, name=asked.name, roles=_keeping_roles(text, asked.file))
    secret = new_secret(asked)
    try:
        Desk.found(asked.folder, text, [(keeper, secret)], {}, reviewer=asked.id, releaser=asked.id)
    except (NotFounded, LedgerTrouble) as trouble:
        raise Trouble(str(trouble)) from trouble
    desk = open_site(asked.folder)
    try:
        print(f"{desk.site.name} is founded in {asked.folder}, and {asked.id} keeps its register.")
        print(f"The SHA-256 of its root, to be made known by other ways: {desk.keys.fingerprint}")
    finally:
        desk.close()
    if asked.generate:
        print(f"The secret of {asked.id} is {secret}. It is shown this once.")
    print("Next: `mirrorwright people add`, then `mirrorwright serve`; the lead brings procedures.")
    return YES


def _keeping_roles(text: bytes, file: Path) -> frozenset[str]:
    """Return the roles that may keep the register of people."""
    site, faults = load_site(text, str(file))
    if site is None:
        raise Trouble("\n".join(str(fault) for fault in faults))
    keeping = frozenset(role for role, may in site.roles.items() if KEEPING in may)
    if not keeping:
        raise Trouble(f'{file}: no role may "{KEEPING}", so nobody could let anyone in.')
    return keeping

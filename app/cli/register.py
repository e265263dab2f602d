"""Errands on the register of people. Who does them holds the machine itself: the record says "console"."""

from __future__ import annotations

import getpass
import secrets
import sys
from typing import TYPE_CHECKING

from app.cli.told import NO, YES, Trouble, open_site
from app.run.crew import Person
from app.run.refusal import Refusal

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable

    from app.desk.desk import Desk

CONSOLE = "console"


def list_people(asked: argparse.Namespace) -> int:
    """Tell everyone, with their roles."""
    desk = open_site(asked.folder)
    try:
        for person in desk.register.people():
            roles = ", ".join(sorted(person.roles)) if person.active else "retired"
            print(f"{person.id:4}  {person.name}: {roles}")
        return YES
    finally:
        desk.close()


def add(asked: argparse.Namespace) -> int:
    """Add a person with their first secret."""
    secret = new_secret(asked)
    person = Person(id=asked.id, name=asked.name, roles=frozenset(asked.roles))
    code = _change(asked, lambda desk: desk.register.add(person, secret, CONSOLE))
    return _told(asked, secret, code)


def give_roles(asked: argparse.Namespace) -> int:
    """Give a person roles in place of their present ones."""
    roles = frozenset(asked.roles)
    return _change(asked, lambda desk: desk.register.change_roles(asked.id, roles, CONSOLE))


def reset_secret(asked: argparse.Namespace) -> int:
    """Give a person a new secret."""
    secret = new_secret(asked)
    code = _change(asked, lambda desk: desk.register.reset_secret(asked.id, secret, CONSOLE))
    return _told(asked, secret, code)


def unlock(asked: argparse.Namespace) -> int:
    """Forget a person's wrong tries."""
    return _change(asked, lambda desk: desk.register.unlock(asked.id, CONSOLE))


def retire(asked: argparse.Namespace) -> int:
    """Close a person's place."""
    return _change(asked, lambda desk: desk.register.retire(asked.id, CONSOLE))


def _change(asked: argparse.Namespace, change: Callable[[Desk], Person | Refusal]) -> int:
    desk = open_site(asked.folder)
    try:
        unknown = sorted(set(getattr(asked, "roles", ())) - set(desk.site.roles))
        if unknown:
            known = ", ".join(desk.site.roles)
            raise Trouble(f"{desk.site.name} has no role {unknown[0]}. Its roles are {known}.")
        answer = change(desk)
    finally:
        desk.close()
    if isinstance(answer, Refusal):
        print(answer.sentence, file=sys.stderr)
        return NO
    roles = ", ".join(sorted(answer.roles)) if answer.active else "retired"
    print(f"{answer.id}, {answer.name}: {roles}.")
    return YES


def new_secret(asked: argparse.Namespace) -> str:
    """Return a secret typed twice at the console, or drawn.

    Raises:
        Trouble: the two were not the same.
    """
    if asked.generate:
        return secrets.token_hex(6)
    typed = getpass.getpass(f"Secret of {asked.id}: ")
    if getpass.getpass("The same again: ") != typed:
        raise Trouble("The two are not the same. Nothing was saved.")
    return typed


def _told(asked: argparse.Namespace, secret: str, code: int) -> int:
    if code == YES and asked.generate:
        print(f"The secret of {asked.id} is {secret}. It is shown this once.")
    return code

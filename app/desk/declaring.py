"""Declaring what is true of the hardware outside any run: two people look, and both sign."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from app.desk.shelf import Shelf
from app.ledger.ledger import Transaction
from app.ledger.stored import SITE, Draft
from app.procedure.model import FactValue, Site
from app.run.crew import Crew
from app.run.refusal import Refusal


def why_not_declare(  # noqa: PLR0913, PLR0917 - what is declared, and by whom
    site: Site,
    crew: Crew,
    asset: str,
    facts: Mapping[str, FactValue],
    reason: str,
    people: tuple[str, str],
) -> Refusal | None:
    """Return why these two may not declare these facts, or None."""
    known = site.assets.get(asset)
    if known is None:
        return Refusal(code="board.none", sentence=f"This site has no {asset}. Nothing was saved.")
    for name, value in facts.items():
        if name not in known.facts or value not in known.facts[name].values:
            return Refusal(
                code="board.fact",
                sentence=f"{name} cannot be {value} on the {known.title.lower()}. Nothing was saved.",
            )
    who = crew.who_may("accept-deviation")
    if people[0] == people[1] or not all(crew.roles(person) for person in people):
        return Refusal(
            code="board.two_people",
            sentence="Two different people declare the state of the hardware. Nothing was saved.",
            who=who,
        )
    if not any(crew.may(person, "accept-deviation") for person in people):
        return Refusal(
            code="board.role", sentence=f"One of the two must be {who}. Nothing was saved.", who=who
        )
    if not reason.strip():
        return Refusal(code="board.reason", sentence="Say why. Nothing was saved.")
    return None


def declare_errand(  # noqa: PLR0913 - what is declared, and by whom
    shelf: Shelf,
    asset: str,
    facts: Mapping[str, FactValue],
    reason: str,
    *,
    by: str,
    second: str,
    device: str,
    key: str,
) -> Callable[[Transaction], None]:
    """Return the errand that keeps a declaration, once for each key."""

    def errand(tx: Transaction) -> None:
        if tx.receipt(SITE, key) is not None:
            return
        body = {
            "asset": asset,
            "facts": dict(facts),
            "reason": reason.strip(),
            "second": second,
        }
        told = tx.append(Draft(SITE, "FactsDeclared", body, by, device), key)
        tx.keep_receipt(SITE, key, "", "{}")
        shelf.note(told)

    return errand

"""The one exception of the pages: a request that is turned away before it reaches the desk."""

from __future__ import annotations

from app.run.refusal import Refusal


class TurnedAway(Exception):  # noqa: N818 - it is an answer, not a fault of the program
    """Carries the refusal and the status to the request's edge, where it is answered."""

    def __init__(
        self, status: int, code: str, sentence: str, *, who: str = "", where: str = ""
    ) -> None:
        super().__init__(sentence)
        self.status = status
        self.refusal = Refusal(code=code, sentence=sentence, who=who, where=where)


def not_here(what: str) -> TurnedAway:
    """Return the answer to an address where there is nothing."""
    return TurnedAway(404, "page.none", f"There is no {what} here.", where="Go back to Today.")


def not_readable(sentence: str) -> TurnedAway:
    """Return the answer to a form that does not say what it must."""
    return TurnedAway(422, "form.unreadable", sentence)


def nobody_signed_on() -> TurnedAway:
    """Return the answer to an act by nobody."""
    sentence = "Nobody is signed on at this tablet now. Nothing was saved."
    return TurnedAway(401, "session.none", sentence, where="Sign on, then do it again.")


def untouched() -> TurnedAway:
    """Return the answer to an act on a tablet that was left alone."""
    sentence = "Nobody has touched this tablet for 10 minutes. Nothing was saved."
    where = "Sign on with your own secret, then do it again."
    return TurnedAway(401, "session.idle", sentence, where=where)


def reading_only() -> TurnedAway:
    """Return the answer to someone who may read records and nothing else."""
    sentence = "You are signed on to read records. You cannot act in a run. Nothing was saved."
    return TurnedAway(403, "role.reads_only", sentence)

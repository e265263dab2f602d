"""What stands around every screen: where we are, who is at the tablet, the link, stop work."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol


class AtTablet(Protocol):
    """As much of a session as the strip shows."""

    @property
    def people(self) -> tuple[str, ...]:
        """Who is signed on at this tablet."""
        ...

    @property
    def entering(self) -> str:
        """Who is entering now."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Seated:
    """One person at this tablet."""

    id: str
    entering: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A way to another screen, as a button on the strip."""

    words: str
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """The strip of one page; an empty address leaves its part out."""

    title: str  # of the browser's window; on a blind step it gives no progress away
    where: str
    sub: str = ""
    people: tuple[Seated, ...] = ()
    links: tuple[Way, ...] = ()
    stop: str = ""  # where "Stop work" is sent
    watch: str = ""  # where the watch asks
    seq: int = 0  # what this page was drawn from
    desk: bool = False  # smaller controls, for a desk with a mouse


def frame_of(  # noqa: PLR0913 - each is one part of the strip, by name
    session: AtTablet | None,
    *,
    where: str,
    sub: str = "",
    title: str = "",
    links: Sequence[Way] = (),
    stop: str = "",
    watch: str = "",
    seq: int = 0,
    desk: bool = False,
) -> Frame:
    """Return the strip for whoever is at the tablet."""
    people = () if session is None else session.people
    entering = "" if session is None else session.entering
    return Frame(
        title=title or (f"{where}. {sub}" if sub else where),
        where=where,
        sub=sub,
        people=tuple(Seated(id=each, entering=each == entering) for each in people),
        links=tuple(links),
        stop=stop,
        watch=watch,
        seq=seq,
        desk=desk,
    )

"""When an entry was made, where it reached the recorder later: the tablet's time beside the server's.

Rules: the server's time of receipt is the time of the record. The tablet's clock is never believed,
only compared: its offset is what the server's clock says when the entry comes, less what the tablet
says it is then. Where the page has lived on since the entry, the entry's age is measured without any
clock on the wall; else the tablet's time of entry is moved by the offset. An estimate never lies
after the receipt.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

LATE = timedelta(seconds=10)  # an answer over a bad link takes less; a person can tell more
JUMPED = timedelta(seconds=2)  # between the two ways of measuring an entry's age


@dataclass(frozen=True, slots=True, kw_only=True)
class TabletTime:
    """What a tablet says of the time of one entry."""

    made: datetime  # the tablet's clock at the entry
    sent: datetime  # the tablet's clock at the sending
    age: timedelta | None  # measured by the page that has lived since; None after a reload

    @property
    def jumped(self) -> bool:
        """Say whether the tablet slept, or its clock was moved, while the entry waited."""
        return self.age is not None and abs((self.sent - self.made) - self.age) > JUMPED


def reckoned(said: TabletTime, received: datetime) -> Mapping[str, str]:
    """Return the times of an entry as the record keeps them, all as text.

    Returns:
        `made` the tablet's time of entry; `offset_ms` how far its clock was behind the server's;
        `estimated` the server's time of entry, `by` "age" or "clock"; `late` and `jumped`, yes or no.
    """
    offset = received - said.sent
    estimated = said.made + offset if said.age is None else received - said.age
    if said.age is not None and said.jumped:
        # A page's own clock may stand still while a tablet sleeps: the older estimate is the safe one.
        estimated = min(estimated, said.made + offset)
    estimated = min(estimated, received)
    return {
        "made": said.made.isoformat(timespec="milliseconds"),
        "offset_ms": str(round(offset / timedelta(milliseconds=1))),
        "estimated": estimated.isoformat(timespec="milliseconds"),
        "by": "clock" if said.age is None else "age",
        "late": "yes" if received - estimated > LATE else "no",
        "jumped": "yes" if said.jumped else "no",
    }

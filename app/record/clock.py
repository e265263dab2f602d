"""Times as the record prints them: the site's time zone, the zone said once."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True, slots=True)
class Clock:
    """Writes moments of one run; the day is left out where the whole run fits in one day."""

    zone: ZoneInfo
    one_day: bool

    def when(self, at: datetime) -> str:
        """Return `10:38:12`, or `6 May 10:38:12` in a run of several days."""
        local = at.astimezone(self.zone)
        return f"{local:%H:%M:%S}" if self.one_day else f"{self.day(at)} {local:%H:%M:%S}"

    def day(self, at: datetime) -> str:
        """Return the day without its year, as `6 May`."""
        local = at.astimezone(self.zone)
        return f"{local.day} {MONTHS[local.month - 1]}"

    def full(self, at: datetime) -> str:
        """Return day, year and time, as `6 May 2027 10:38:12`."""
        local = at.astimezone(self.zone)
        return f"{self.day(at)} {local.year} {local:%H:%M:%S}"

    def words(self, at: datetime) -> str:
        """Say the zone once, with the same moment in UTC so that nobody counts hours wrongly."""
        utc = at.astimezone(UTC)
        offset = offset_words(at.astimezone(self.zone).utcoffset() or timedelta(0))
        return (
            f"Times are local to the site, {offset}, by the server's clock. "
            f"{self.full(at)} here is {utc.day} {MONTHS[utc.month - 1]} {utc.year} "
            f"{utc:%H:%M:%S} UTC."
        )


def clock_of(time_zone: str, first: datetime, last: datetime) -> Clock:
    """Return the clock of a run that went from `first` to `last`."""
    zone = ZoneInfo(time_zone)
    one_day = first.astimezone(zone).date() == last.astimezone(zone).date()
    return Clock(zone, one_day)


def offset_words(offset: timedelta) -> str:
    """Return an offset as `UTC−02:00`."""
    minutes = round(offset.total_seconds() / 60)
    sign = "−" if minutes < 0 else "+"
    return f"UTC{sign}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"


def span_words(span: timedelta) -> str:
    """Return a length of time as `7 h 12 min`, `4 min 20 s` or `35 s`."""
    seconds = max(0, round(span.total_seconds()))
    hours, minutes = seconds // 3600, seconds % 3600 // 60
    if hours:
        return f"{hours} h {minutes:02d} min"
    return f"{minutes} min {seconds % 60:02d} s" if minutes else f"{seconds} s"

"""Reads one `[[sections.steps]]` table: the keys that every step may have, then its kind's own."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import TYPE_CHECKING, cast

from app.procedure.fact_tests import read_settings, read_tests
from app.procedure.model import Fresh, Step, Within
from app.procedure.nearest import did_you_mean
from app.procedure.registry import kinds

if TYPE_CHECKING:
    from app.calculations.quantity import Quantity
    from app.procedure.model import Asset, Check, Site
    from app.procedure.reading import Table

CHECKS: tuple[Check, ...] = ("after", "before", "independent")
USUAL_SEATS = ("technician",)
MOST_SEATS = 6
MOST_PHOTOS = 12
KEBAB = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")


def read_step(table: Table, number: int, section: int, site: Site, asset: Asset) -> Step:
    """Return the step that a table describes; faults gather in the table."""
    step_id = _id(table)
    kind, own = _own(table)
    within = table.table("within", noun="deadline")
    step = Step(
        id=step_id,
        number=number,
        line=table.line,
        section=section,
        kind=kind,
        own=own,
        do=table.text("do", required=True),
        why=table.text("why"),
        danger=table.text("danger"),
        warning=table.text("warning"),
        caution=table.text("caution"),
        notice=table.text("notice"),
        mirror=table.text("mirror"),
        picture=table.text("picture"),
        picture_text=table.text("picture_text"),
        critical=table.flag("critical"),
        back_out=table.text("back_out"),
        no_return=table.flag("no_return"),
        safe_point=table.flag("safe_point"),
        seats=roles(table, "sign", site) if table.has("sign") else USUAL_SEATS,
        check=cast("Check", table.choice("check", CHECKS)),
        apart=table.duration("apart") or timedelta(0),
        not_same_as=table.texts("not_same_as"),
        needs=read_tests(table, "needs", asset.facts),
        after=table.texts("after"),
        fresh=tuple(_fresh(each) for each in table.tables("fresh", noun="fresh reading")),
        within=None if within is None else _within(within),
        tool=table.text("tool"),
        present=roles(table, "present", site),
        absent=table.texts("absent"),
        sets=read_settings(table, "sets", asset.facts),
        confirms=read_tests(table, "confirms", asset.facts),
        photo=table.whole("photo", 0, at_least=1, at_most=MOST_PHOTOS) or 0,
    )
    if kind:
        table.finish()
    return step


def roles(table: Table, key: str, site: Site) -> tuple[str, ...]:
    """Return a list of roles of the site."""
    named = table.texts(key)
    for role in named:
        if role not in site.roles:
            what = f"{role} is not a role of {site.name}."
            table.fault(key, what, did_you_mean(role, site.roles))
    if table.has(key) and not 1 <= len(named) <= MOST_SEATS:
        table.fault(key, f"{key} names {len(named)} roles.", f"Name 1 to {MOST_SEATS}.")
    return named


def _id(table: Table) -> str:
    found = table.text("id", required=True)
    if found and not KEBAB.fullmatch(found):
        what = f'"{found}" is not a step id.'
        table.fault("id", what, 'Use small letters, digits and hyphens, as "brackets-gone".')
    return found


def _own(table: Table) -> tuple[str, object]:
    """Return the kind's name, and what the kind read from its own keys; "" for an unknown kind."""
    name = table.text("kind", required=True)
    kind = kinds().get(name)
    if kind is not None:
        return name, kind.read(table)
    if name:
        mend = did_you_mean(name, sorted(kinds()))
        table.fault("kind", f"{name} is not a kind of step.", mend)
    return "", None


def _fresh(table: Table) -> Fresh:
    least, most = table.quantity("at_least"), table.quantity("at_most")
    fresh = Fresh(
        reading=table.text("reading", required=True),
        age=table.duration("age", required=True) or timedelta(0),
        at_least=least,
        at_most=None if most is None or _other(table, least, most) else most,
    )
    if not table.has("at_least") and not table.has("at_most"):
        table.fault("reading", "This reading has no limit.", "Write at_least, at_most, or both.")
    table.finish()
    return fresh


def _other(table: Table, least: Quantity | None, most: Quantity) -> bool:
    """Say whether the two limits measure different things; and refuse limits that cross."""
    if least is None:
        return False
    try:
        crossed = least.to(most.unit).value > most.value
    except ValueError:
        table.fault("at_most", f"{most} and {least} measure different things.", "Use one unit.")
        return True
    if crossed:
        what = f"No value can be at least {least} and at most {most}."
        table.fault("at_least", what, "Put the lower limit in at_least.")
    return False


def _within(table: Table) -> Within:
    within = Within(
        of=table.text("of", required=True),
        at_least=table.duration("at_least"),
        at_most=table.duration("at_most"),
        if_missed=table.text("if_missed"),
    )
    least, most = within.at_least, within.at_most
    if least is None and most is None and not table.has("at_least") and not table.has("at_most"):
        table.fault("of", "This deadline has no time.", 'Write at_most = "60 min".')
    if least is not None and most is not None and least > most:
        table.fault("at_least", "The least wait is longer than the deadline.", "Swap the two.")
    table.finish()
    return within

"""Reads a procedure's file: its head, its sections, and the steps of each."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import TYPE_CHECKING, cast

from app.procedure.fact_tests import read_tests
from app.procedure.model import Asset, Procedure, Section
from app.procedure.nearest import did_you_mean
from app.procedure.site_file import read_format
from app.procedure.step_file import read_step

if TYPE_CHECKING:
    from collections.abc import Mapping

    from app.procedure.model import Order, Site, Step
    from app.procedure.reading import Table

ORDERS: tuple[Order, ...] = ("strict", "any")
LARGEST_CREW = 99
_ID = re.compile(r"[A-Za-z0-9]+(?:-[A-Za-z0-9]+)*")
_NO_ASSET = Asset(id="", title="", facts={}, hazards=())


def read_procedure(table: Table, site: Site, sha256: str) -> Procedure:
    """Return the procedure that a file describes; faults gather in the table."""
    read_format(table)
    asset = _asset(table, site)
    procedure = Procedure(
        id=_id(table),
        revision=table.whole("revision", 1, at_least=1, required=True) or 1,
        title=table.text("title", required=True),
        purpose=table.text("purpose", required=True),
        planned=table.duration("planned", required=True) or timedelta(0),
        safe_state=table.text("safe_state", required=True),
        crew=_crew(table, site),
        starts_with=read_tests(table, "starts_with", asset.facts),
        leaves=read_tests(table, "leaves", asset.facts),
        sections=_sections(table, site, asset),
        asset=asset,
        file=table.file,
        sha256=sha256,
    )
    table.finish()
    return procedure


def _id(table: Table) -> str:
    found = table.text("id", required=True)
    if found and not _ID.fullmatch(found):
        table.fault("id", f'"{found}" is not an id.', 'Use letters, digits and hyphens, as "QP-4".')
    return found


def _asset(table: Table, site: Site) -> Asset:
    name = table.text("asset", required=True)
    if name and name not in site.assets:
        mend = did_you_mean(name, site.assets)
        table.fault("asset", f"{name} is not an asset of {site.name}.", mend)
    return site.assets.get(name, _NO_ASSET)


def _crew(table: Table, site: Site) -> Mapping[str, int]:
    written = table.table("crew", required=True, noun="crew")
    crew: dict[str, int] = {}
    if written is None:
        return crew
    for role in written.keys():  # noqa: SIM118 - a Table is not a mapping: keys() notes them
        number = written.whole(role, at_least=1, at_most=LARGEST_CREW)
        if role not in site.roles:
            mend = did_you_mean(role, site.roles)
            written.fault(role, f"{role} is not a role of {site.name}.", mend)
        elif number is not None:
            crew[role] = number
    return crew


def _sections(table: Table, site: Site, asset: Asset) -> tuple[Section, ...]:
    sections: list[Section] = []
    number = 1
    for index, each in enumerate(table.tables("sections", noun="section", own=True, required=True)):
        title = each.text("title", required=True)
        order = cast("Order", each.choice("order", ORDERS))
        steps: list[Step] = []
        for written in each.tables("steps", noun="step", own=True, required=True):
            steps.append(read_step(written, number, index, site, asset))
            number += 1
        each.finish()
        sections.append(Section(title=title, order=order, steps=tuple(steps)))
    return tuple(sections)

"""Reads the keys of a torque step."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from app.calculations.quantity import PLAIN_NUMBER, Limits, Quantity, same_dimension
from app.procedure.model import Layout
from app.procedure.ranges import read_amount
from app.procedure.tightening import (
    DEGREES,
    Adapter,
    Pass,
    Tightening,
    cross,
    tool_limits,
    tool_setting,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.procedure.reading import Table

NOWHERE = Layout(shape="list", names=())
PATTERNS = ("cross", "ring")
MOST_PASSES = 8
TORQUE = "N m"


def read_tightening(table: Table) -> Tightening:
    """Return what a torque step asks for; faults gather in the table."""
    bolts = table.layout("bolts", required=True) or NOWHERE
    unit = table.unit(required=True)
    if unit and not same_dimension(unit, TORQUE):
        table.fault("unit", f"{unit} does not measure a torque.", 'Write unit = "N m".')
        unit = ""
    pattern, order = _order(table, bolts)
    adapter = _adapter(table)
    share = Decimal(1) if adapter is None else adapter.share
    passes = [
        Pass(
            name=f"pass {number}",
            target=target,
            set_to=tool_setting(target, share),
            limits=tool_limits(target, tolerance, share, unit),
            order=order,
        )
        for number, (target, tolerance) in enumerate(_targets(table, unit), start=1)
    ]
    turn = read_amount(table, "verify", DEGREES)
    if turn is not None and turn < 0:
        table.fault("verify", "A bolt cannot turn by less than nothing.", 'Write verify = "5 deg".')
    if turn is not None:
        limits = Limits(Decimal(0), turn, DEGREES)
        passes.append(
            Pass(name="check", target=None, set_to=None, limits=limits, order=bolts.names)
        )
    return Tightening(
        bolts=bolts, pattern=pattern, unit=unit, passes=tuple(passes), adapter=adapter
    )


def _order(table: Table, bolts: Layout) -> tuple[str, tuple[str, ...]]:
    written = table.raw("pattern")
    if isinstance(written, list):
        listed = table.texts("pattern")
        if sorted(listed) != sorted(bolts.names):
            what = "The pattern does not name every bolt once."
            table.fault("pattern", what, "Name each bolt of the layout once, in order.")
            return "list", bolts.names
        return "list", listed
    pattern = table.choice("pattern", PATTERNS)
    if pattern == "ring" or not bolts.names:
        return pattern, bolts.names
    if len(bolts.rings) != 1:
        what = "A cross pattern needs the bolts on one ring."
        table.fault("pattern", what, 'Use shape = "ring", or name all bolts in order.')
        return pattern, bolts.names
    return pattern, tuple(bolts.names[place] for place in cross(len(bolts.names)))


def _targets(table: Table, unit: str) -> list[tuple[Decimal, Decimal]]:
    """Return the torque of each pass with how far it may be off, both in the step's unit."""
    written = table.raw("passes")
    listed = written if isinstance(written, list) else []
    found = [_amount(each, unit) for each in listed]
    targets = [each for each in found if each is not None and each > 0]
    if len(targets) != len(listed) or not 1 <= len(targets) <= MOST_PASSES or not unit:
        if unit:
            table.fault(
                "passes",
                f"The passes are not 1 to {MOST_PASSES} torques in {unit}.",
                f'Write passes = ["100 {unit}", "220 {unit}"].',
            )
        table.has("tolerance")
        return []
    if targets != sorted(targets):
        table.fault("passes", "A pass asks for less than the one before it.", "Let them grow.")
    off = _tolerance(table, unit)
    if any(not 0 <= off(target) < target for target in targets):
        what = "The tolerance is below nothing, or as large as the torque."
        table.fault("tolerance", what, 'Write tolerance = "4 %".')
        return []
    return [(target, off(target)) for target in targets]


def _amount(written: object, unit: str) -> Decimal | None:
    if isinstance(written, int | Decimal) and not isinstance(written, bool):
        return Decimal(written)
    if not isinstance(written, str) or not unit:
        return None
    if PLAIN_NUMBER.fullmatch(written):
        return Decimal(written)
    try:
        return Quantity.parse(written).to(unit).value
    except ValueError:
        return None


def _tolerance(table: Table, unit: str) -> Callable[[Decimal], Decimal]:
    """Return how far a torque may be off, by the torque asked for."""
    written = table.raw("tolerance")
    if isinstance(written, str) and written.strip().endswith("%"):
        share = table.quantity("tolerance", "%")
        per_cent = Decimal(0) if share is None else share.value
        return lambda target: target * per_cent / 100
    amount = read_amount(table, "tolerance", unit, required=True) or Decimal(0)
    return lambda _target: amount


def _adapter(table: Table) -> Adapter | None:
    inner = table.table("adapter", noun="adapter")
    if inner is None:
        return None
    length = read_amount(inner, "length", "mm", required=True)
    adapter = read_amount(inner, "adapter", "mm", required=True)
    angle = read_amount(inner, "angle", DEGREES)
    inner.finish()
    if length is None or adapter is None:
        return None
    found = Adapter(length=length, adapter=adapter, angle=angle or Decimal(0))
    try:
        positive = length > 0 and adapter >= 0 and found.share > 0
    except ValueError:
        positive = False
    if not positive:
        what = "The adapter leaves no lever."
        table.fault("adapter", what, "Write the length of the grip and of the adapter.")
        return None
    return found

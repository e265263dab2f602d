"""Places on rings, seen from above, datum up, angles clockwise; never mirrored."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from app.procedure.drawing import Mark, RingMap

MIDDLE, OUTER = 280.0, 214.0  # of a ring map, 560 units square
DATUM_ABOVE = "M280 16l-10-15h20z"  # where there is no room inside the rings
ROOM_FOR_DATUM = 110.0
LABELLED = 60  # with more places than this only the one at hand is named


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One named place on a ring map."""

    name: str
    mark: Mark
    x: str
    y: str
    left: str
    top: str
    label: str
    label_x: str
    label_y: str
    size: int


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnRings:
    """Places on rings, seen from above, datum up."""

    form: str = "rings"
    label: str
    circles: tuple[str, ...]
    places: tuple[Place, ...]
    scale: str
    here_radius: str
    pointer: str
    datum: str
    datum_y: str
    middle: str


def drawn_rings(ring_map: RingMap) -> DrawnRings:
    """Return places on their rings, clockwise from the datum."""
    radii = _radii(ring_map.rings)
    spread = [
        radius for radius, count in zip(radii, ring_map.rings, strict=True) for _ in range(count)
    ]
    crowded = len(ring_map.names) > 24
    scale = 0.8 if len(ring_map.names) > LABELLED else 1.0 if crowded else 1.3
    places = tuple(
        _place(ring_map, name, angle, radius, scale)
        for name, angle, radius in zip(ring_map.names, ring_map.angles, spread, strict=True)
    )
    inner = radii[0] - 40
    roomy = inner > ROOM_FOR_DATUM
    return DrawnRings(
        label=ring_map.label,
        circles=(*(f"{radius - 34:.1f}" for radius in radii[-1:]), f"{min(46.0, inner / 2):.1f}"),
        places=places,
        scale=f"{scale}",
        here_radius="20",
        pointer=_inward(ring_map, spread),
        datum=f"M{MIDDLE:.0f} {MIDDLE - inner + 30:.1f}l-11 20h22z" if roomy else DATUM_ABOVE,
        datum_y=f"{MIDDLE - inner + 70:.1f}" if roomy else "",
        middle="hole",
    )


def on_ring(angle: float, radius: float, middle: float = MIDDLE) -> tuple[float, float]:
    """Return the point at an angle clockwise from the datum (up) on a page whose y goes down."""
    turn = math.radians(angle)
    return middle + radius * math.sin(turn), middle - radius * math.cos(turn)


def _radii(rings: Sequence[int]) -> tuple[float, ...]:
    return tuple(OUTER - 54.0 * (len(rings) - 1 - index) for index in range(len(rings)))


def _place(ring_map: RingMap, name: str, angle: float, radius: float, scale: float) -> Place:
    here = name == ring_map.here
    x, y = on_ring(angle, radius)
    label_x, label_y = on_ring(angle, radius + (46 if here else 40))
    inner = radius < OUTER
    named = here or (not inner and len(ring_map.names) <= LABELLED)
    return Place(
        name=name,
        mark="here" if here else ring_map.marks.get(name, "todo"),
        x=f"{x:.1f}",
        y=f"{y:.1f}",
        left=f"{x - 12 * scale:.1f}",
        top=f"{y - 12 * scale:.1f}",
        label=name if named and not (here and inner) else "",
        label_x=f"{label_x:.1f}",
        label_y=f"{label_y + 6:.1f}",
        size=26 if here else 17,
    )


def _inward(ring_map: RingMap, radii: Sequence[float]) -> str:
    if ring_map.here not in ring_map.names:
        return ""
    index = ring_map.names.index(ring_map.here)
    angle, radius = ring_map.angles[index], radii[index]
    tip = on_ring(angle, radius - 26)
    turn = math.radians(angle)
    back_x, back_y = on_ring(angle, radius - 52)
    side_x, side_y = 14 * math.cos(turn), 14 * math.sin(turn)
    one, two = (back_x - side_x, back_y - side_y), (back_x + side_x, back_y + side_y)
    return f"M{one[0]:.1f} {one[1]:.1f}L{two[0]:.1f} {two[1]:.1f}L{tip[0]:.1f} {tip[1]:.1f}z"

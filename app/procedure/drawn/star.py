"""A bolt circle with the way from bolt to bolt: whence, here, whither."""

from __future__ import annotations

from dataclasses import dataclass

from app.procedure.drawing import StarMap
from app.procedure.drawn.rings import on_ring

MIDDLE, RADIUS, INNER = 240.0, 180.0, 86.0  # units of a picture 480 square
BOLT, BOLT_HERE = 26.0, 40.0
CROWDED = 16  # with more bolts than this they are drawn smaller
SHRUNK = 0.68


@dataclass(frozen=True, slots=True, kw_only=True)
class Bolt:
    """One bolt head on the circle, a hexagon with its name."""

    name: str
    mark: str  # done, here, then, todo
    points: str
    x: str
    text_y: str
    size: int
    tick: str  # path of the tick beside a bolt that is done
    then_y: str  # where "then" stands


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnStar:
    """The circle, the way so far, the last stretch, the next."""

    form: str = "star"
    label: str
    bolts: tuple[Bolt, ...]
    way: tuple[str, ...]  # stretches before the last
    last: str
    then: str
    middle: str
    turns: tuple[tuple[str, str], ...]  # the order of this pass: each bolt with its mark


def drawn_star(star: StarMap) -> DrawnStar:
    """Return where each bolt and each stretch of the way is drawn."""
    angles = dict(zip(star.names, star.angles, strict=True))
    stretches = tuple(
        _line(angles[one], angles[other])
        for one, other in zip(star.way, star.way[1:], strict=False)
    )
    return DrawnStar(
        label=star.label,
        bolts=tuple(_bolt(star, name, angle) for name, angle in angles.items()),
        way=stretches[:-1],
        last=stretches[-1] if stretches else "",
        then=_line(angles[star.here], angles[star.then]) if star.then else "",
        middle=star.middle,
        turns=tuple((name, _mark(star, name)) for name in star.order),
    )


def _line(one: float, other: float) -> str:
    (x1, y1), (x2, y2) = on_ring(one, RADIUS, MIDDLE), on_ring(other, RADIUS, MIDDLE)
    return f"M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}"


def _bolt(star: StarMap, name: str, angle: float) -> Bolt:
    here = name == star.here
    shrunk = SHRUNK if len(star.names) > CROWDED else 1.0
    radius = BOLT_HERE * (0.8 if shrunk < 1 else 1.0) if here else BOLT * shrunk
    x, y = on_ring(angle, RADIUS, MIDDLE)
    mark = _mark(star, name)
    size = round((34 if here else 22) * (0.75 if shrunk < 1 else 1.0))
    return Bolt(
        name=name,
        mark="then" if name == star.then and mark == "todo" else mark,
        points=" ".join(_corner(turn, radius, x, y) for turn in range(0, 360, 60)),
        x=f"{x:.1f}",
        text_y=f"{y + size * 0.36:.1f}",
        size=size,
        tick=f"M{x + radius * 0.8:.1f} {y - radius:.1f}l6 7l11 -13" if mark == "done" else "",
        then_y=f"{y - radius - 9:.1f}" if y < MIDDLE else f"{y + radius + 20:.1f}",
    )


def _mark(star: StarMap, name: str) -> str:
    if name == star.here:
        return "here"
    return "done" if name in star.done else "todo"


def _corner(turn: int, radius: float, x: float, y: float) -> str:
    right, down = on_ring(float(turn), radius, 0.0)
    return f"{x + right:.1f},{y + down:.1f}"

"""Where each line of a drawing goes. All arithmetic of the drawings is on this side; templates only print.

Angles are degrees clockwise from the datum, which is up: the map is what one sees from above, and it
is never mirrored.
"""

from __future__ import annotations

from app.procedure.drawing import Drawing, LoadPlan, RingMap, Scale, StarMap, Trend
from app.procedure.drawn.loads import DrawnLoads, drawn_loads
from app.procedure.drawn.rings import DrawnRings, drawn_rings
from app.procedure.drawn.scale import DrawnScale, drawn_scale
from app.procedure.drawn.star import DrawnStar, drawn_star
from app.procedure.drawn.trend import DrawnTrend, drawn_trend

Drawn = DrawnScale | DrawnRings | DrawnLoads | DrawnStar | DrawnTrend


def drawn(drawing: Drawing) -> Drawn:
    """Return where each line of a drawing goes."""
    match drawing:
        case Scale():
            return drawn_scale(drawing)
        case RingMap():
            return drawn_rings(drawing)
        case LoadPlan():
            return drawn_loads(drawing)
        case StarMap():
            return drawn_star(drawing)
        case Trend():
            return drawn_trend(drawing)

"""The roles of the demonstration site."""

from __future__ import annotations

from decimal import Decimal

from app.calculations.quantity import Quantity
from app.procedure.model import Site

QUILLMOOR = Site(
    name="Quillmoor Observatory",
    latitude=-31.2,
    longitude=-29.4,
    elevation=Quantity(Decimal(2380), "m"),
    time_zone="Etc/GMT+2",
    roles={
        "technician": frozenset({"perform"}),
        "supervisor": frozenset({"perform", "release-hold", "restart"}),
        "keeper": frozenset({"manage-people"}),
    },
    assets={},
)

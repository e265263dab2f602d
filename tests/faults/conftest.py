"""The tablet's faults are tried on the same round as in the browser's tests."""

from __future__ import annotations

from tests.browser.conftest import (
    context,
    round_address,
    round_desk,
    round_made,
    round_site,
    tablet,
)

__all__ = ["context", "round_address", "round_desk", "round_made", "round_site", "tablet"]

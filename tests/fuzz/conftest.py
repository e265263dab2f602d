"""The site and the tablets of the screens' tests, for requests made by lot."""

from __future__ import annotations

from tests.screens.conftest import app, briefed, clock, desk, founded, loop, run, site, tablets

__all__ = ["app", "briefed", "clock", "desk", "founded", "loop", "run", "site", "tablets"]

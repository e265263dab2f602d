"""Finds the kinds of step: every module in `kinds/` that offers `KIND`."""

from __future__ import annotations

import importlib
import pkgutil
from functools import cache
from typing import TYPE_CHECKING

import app.procedure.kinds

if TYPE_CHECKING:
    from collections.abc import Mapping

    from app.procedure.kind import Kind
    from app.procedure.model import Step


@cache
def kinds() -> Mapping[str, Kind]:
    """Return every kind by its name in the TOML."""
    found: dict[str, Kind] = {}
    for module in pkgutil.iter_modules(app.procedure.kinds.__path__):
        kind: Kind = importlib.import_module(f"app.procedure.kinds.{module.name}").KIND
        found[kind.name] = kind
    return found


def kind_of(step: Step) -> Kind:
    """Return the kind of a step that was loaded (so the kind exists)."""
    return kinds()[step.kind]

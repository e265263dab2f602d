"""Nothing that a route is given is carried to another thread: that costs more than to look it up."""

from __future__ import annotations

import inspect
from collections.abc import Iterator

from fastapi import FastAPI
from fastapi.dependencies.models import Dependant
from fastapi.routing import APIRoute


def routes(app: FastAPI) -> Iterator[APIRoute]:
    for included in app.routes:
        for route in getattr(getattr(included, "original_router", None), "routes", ()):
            if isinstance(route, APIRoute):
                yield route


def given(dependant: Dependant) -> Iterator[object]:
    for each in dependant.dependencies:
        yield each.call
        yield from given(each)


def test_every_route_and_all_that_it_is_given_runs_where_it_is_asked(app: FastAPI) -> None:
    asked = [call for route in routes(app) for call in (route.endpoint, *given(route.dependant))]

    assert len(asked) > 100
    assert [call for call in asked if not inspect.iscoroutinefunction(call)] == []

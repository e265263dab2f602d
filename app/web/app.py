"""The web application of one site: what stands at the door, then the routes, screen by screen."""

from __future__ import annotations

import gc
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager

from fastapi import FastAPI
from fastapi.telemetry import TelemetryConfig
from starlette.middleware import Middleware

from app.desk.desk import Desk
from app.settings import LOOPBACK, data_folder
from app.web.errors import RequestEdge, answer_errors, refuse_at_the_door
from app.web.guards import BodyLimit, HeadersOnAll, NothingSignedIsKept, OwnHost, OwnOrigin
from app.web.pages import StaticHouse
from app.web.routes import (
    bench,
    close,
    copies,
    correct,
    decide,
    hold,
    outcome,
    pause,
    photos,
    procedures,
    records,
    settings,
    sheet,
    sign_on,
    stop,
    sums,
    today,
    tools,
    trouble,
    watch,
)
from app.web.tries import FewTries

SCREENS = (  # asked in turn: first what is pressed all day
    bench,
    watch,
    sign_on,
    today,
    hold,
    trouble,
    correct,
    stop,
    pause,
    close,
    decide,
    procedures,
    records,
    photos,
    settings,
    sums,
    tools,
    copies,
    outcome,
    sheet,
)


NO_TELEMETRY: TelemetryConfig = {  # a site tells nobody outside what goes on in it
    "tracing": False,
    "metrics": False,
    "logs": False,
    "auto_configure": False,
}


def create_app(desk: Desk, *, hosts: Sequence[str] = LOOPBACK) -> FastAPI:
    """Return the application that stands at a desk.

    Args:
        desk: the opened desk; it is closed when the server ends.
        hosts: the names under which the site may be called.
    """

    @asynccontextmanager
    async def life(_: FastAPI) -> AsyncIterator[None]:
        # What was loaded at start stays: the collector need not walk it again at every turn.
        gc.collect()
        gc.freeze()
        yield
        desk.close()

    guards = [
        Middleware(HeadersOnAll),
        Middleware(RequestEdge),
        Middleware(OwnHost, hosts=hosts, refuse=refuse_at_the_door),
        Middleware(OwnOrigin, refuse=refuse_at_the_door),
        Middleware(NothingSignedIsKept, refuse=refuse_at_the_door),
        Middleware(FewTries, refuse=refuse_at_the_door),
        Middleware(BodyLimit, refuse=refuse_at_the_door),
    ]
    app = FastAPI(
        title="Mirrorwright",
        lifespan=life,
        middleware=guards,
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
        telemetry=NO_TELEMETRY,
    )
    app.state.desk = desk
    answer_errors(app)
    app.mount("/static", StaticHouse(directory=data_folder("static")), name="static")
    for screen in SCREENS:
        app.include_router(screen.router)
    return app

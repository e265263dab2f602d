"""The one door without a certificate: where a tablet gets the site's own, and nothing else is done.

Rules: it shows the authority's certificate, its fingerprint and what to press; it takes nothing. Any
other address leads to the site's own door, so that no entry can be made at an address that is later
another one to the tablet. There is no strict transport header: it would shut this door as well.
"""

from __future__ import annotations

from collections.abc import Sequence

import segno
from fastapi import Request
from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Mount, Route

from app.desk.trust import Trust
from app.settings import LOOPBACK, data_folder
from app.web.errors import refuse_at_the_door
from app.web.guards import SAFE_METHODS, HeadersOnAll, OwnHost, host_name
from app.web.pages import StaticHouse, templates
from app.web.views.frame import frame_of

CERTIFICATE = "application/x-x509-ca-cert"  # what makes a tablet offer to install it
NOT_HERE = "Nothing is entered at this address. Open the site's own, which begins with https."


def enrol_door(trust: Trust, site: str, *, hosts: Sequence[str], port: int, door: int) -> Starlette:
    """Return the application of the door.

    Args:
        trust: the site's certificates.
        site: the site's name.
        hosts: the names under which the site may be called.
        port: where the site itself answers.
        door: where this door does.
    """

    async def show(request: Request) -> Response:
        name = host_name(request.headers.get("host", ""))
        if name in LOOPBACK:  # at the server's own screen: tablets call it by its name
            name = next((each for each in hosts if each not in LOOPBACK), name)
        here, home = f"http://{name}:{door}/enrol", f"https://{name}:{port}/"
        text = (
            templates()
            .get_template("enrol/page.html")
            .render(
                theme="day",
                size="plain",
                session=None,
                frame=frame_of(None, where=site, sub="Enrol a tablet"),
                halves=(trust.fingerprint[:39], trust.fingerprint[40:]),
                here=here,
                home=home,
                code=segno.make(here, error="m").svg_data_uri(
                    scale=6, border=4, dark="#000", light="#fff"
                ),
                until=f"{trust.authority.not_valid_after_utc:%Y-%m-%d}",
            )
        )
        return HTMLResponse(text)

    async def certificate(_: Request) -> Response:
        shown = {"Content-Disposition": 'attachment; filename="site-authority.cer"'}
        return Response(trust.der, media_type=CERTIFICATE, headers=shown)

    async def elsewhere(request: Request) -> Response:
        if request.method not in SAFE_METHODS:
            return HTMLResponse(NOT_HERE, status_code=403)
        name = host_name(request.headers.get("host", ""))
        return RedirectResponse(f"https://{name}:{port}{request.url.path}", status_code=307)

    every = ["GET", "HEAD", "POST", "PUT", "PATCH", "DELETE"]
    return Starlette(
        routes=[
            Route("/enrol", show),
            Route("/enrol/authority.cer", certificate),
            Mount("/static", StaticHouse(directory=data_folder("static"))),
            Route("/{path:path}", elsewhere, methods=every),
        ],
        middleware=[
            Middleware(HeadersOnAll),
            Middleware(OwnHost, hosts=hosts, refuse=refuse_at_the_door),
        ],
    )

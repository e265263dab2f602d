"""The tablet that asks: who is at it, how it likes its pages, which kind of answer it reads."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, cast

from fastapi import Depends, Request
from starlette.responses import Response

from app.desk.desk import Desk
from app.people.sessions import Session
from app.web.turned_away import nobody_signed_on, untouched

TOKEN, DEVICE, THEME, SIZE = "session", "tablet", "theme", "size"
THEMES = ("day", "dim", "dome")
SIZES = ("plain", "large")
A_YEAR = 365 * 24 * 3600
DEVICE_LENGTH = 12
LONGEST_TOKEN = 128
FETCHED_ALONE = ("/watch", "/_bench", "/_ahead")  # what a page asks for though nobody touches it


@dataclass(frozen=True, slots=True, kw_only=True)
class Tablet:
    """One tablet, phone or desk, in one request."""

    device: str  # "" until it was given a name
    token: str | None
    session: Session | None
    theme: str
    size: str
    wants_json: bool
    wants_fragment: bool
    locked: bool = False  # someone is signed on, and nobody has touched it for too long

    @property
    def entering(self) -> str:
        """Return the person who is entering now, "" when nobody is signed on."""
        return self.session.entering if self.session is not None else ""

    @property
    def signed_on(self) -> Session:
        """Return the session.

        Raises:
            TurnedAway: nobody is signed on.
        """
        if self.session is None:
            raise untouched() if self.locked else nobody_signed_on()
        return self.session


def the_desk(request: Request) -> Desk:
    """Return the desk that this server stands at."""
    return cast("Desk", request.app.state.desk)


# What FastAPI fetches for a route is asynchronous where it need not wait for anything, too: a plain
# function would be carried to another thread and back, which costs more than a whole look-up.
async def _its_desk(request: Request) -> Desk:
    return the_desk(request)


TheDesk = Annotated[Desk, Depends(_its_desk)]


async def the_tablet(request: Request) -> Tablet:
    """Read what the tablet says of itself; what it cannot prove is not believed."""
    return tablet_of(request, the_desk(request))


TheTablet = Annotated[Tablet, Depends(the_tablet)]


def tablet_of(request: Request, desk: Desk) -> Tablet:
    """Return the tablet of a request, with its session if that still lasts."""
    token = request.cookies.get(TOKEN) or None
    if token is not None and len(token) > LONGEST_TOKEN:
        token = None
    now = desk.now()
    session = desk.sessions.get(token, now) if token else None
    locked = token is not None and session is not None and _is_locked(request, desk, token, now)
    return Tablet(
        device=_device(request),
        token=token,
        session=None if locked else session,
        locked=locked,
        theme=_one_of(request.cookies.get(THEME), THEMES),
        size=_one_of(request.cookies.get(SIZE), SIZES),
        wants_json="application/json" in request.headers.get("accept", ""),
        wants_fragment="hx-request" in request.headers,
    )


def _is_locked(request: Request, desk: Desk, token: str, now: datetime) -> bool:
    """Say whether a tablet has been left alone; if not, this request is a touch of it."""
    if desk.sessions.locked_since(token, now) is not None:
        return True
    if not request.url.path.endswith(FETCHED_ALONE):
        desk.sessions.touch(token, now)
    return False


def new_device() -> str:
    """Return a name for a tablet that had none."""
    return secrets.token_hex(DEVICE_LENGTH // 2)


def keep_cookie(request: Request, response: Response, name: str, value: str) -> None:
    """Set a cookie that scripts cannot read and that no other site's page can send."""
    response.set_cookie(
        name,
        value,
        max_age=A_YEAR,
        httponly=True,
        samesite="strict",
        secure=request.url.scheme == "https",
    )


def _device(request: Request) -> str:
    device = request.cookies.get(DEVICE, "")
    known = len(device) == DEVICE_LENGTH and all(each in "0123456789abcdef" for each in device)
    return device if known else ""


def _one_of(asked: str | None, known: tuple[str, ...]) -> str:
    return asked if asked in known else known[0]

"""What stands at the door before any page: host names, origins, the size of a body, headers.

Rules: a request under a name that is not ours is not answered; an act must come from a page of
ours; a body is read up to its limit and no further; every answer carries the same headers.
All are plain ASGI: they never hold back a stream, and they see what really goes out.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Sequence
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import ClientDisconnect
from starlette.types import ASGIApp, Message, Receive, Scope, Send

Refuse = Callable[[Scope, Receive, Send, int, str, str], Awaitable[None]]

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
BODY_LIMIT = 256 * 1024
PHOTO_LIMIT = 12 * 1024 * 1024  # one photo; a tablet's own camera writes 3 to 6 MB
PHOTOS_LIMIT = 3 * PHOTO_LIMIT + BODY_LIMIT  # an entry with its photos

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; "
    "connect-src 'self'; worker-src 'self'; manifest-src 'self'; font-src 'self'; "
    "form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    # Not no-referrer: under that a browser says "Origin: null" even to our own pages' forms.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": (
        "camera=(self), screen-wake-lock=(self), geolocation=(), microphone=(), payment=(), usb=()"
    ),
    "X-Frame-Options": "DENY",
}


class HeadersOnAll:
    """Puts the headers on every answer; a page is never kept by a cache unless it says so."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, with the headers."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers[name] = value
                headers.setdefault("Cache-Control", "no-store")
            await send(message)

        await self.app(scope, receive, send_with_headers)


class OwnHost:
    """Answers only under the names of this site, so that no other name can be bound to it."""

    def __init__(self, app: ASGIApp, *, hosts: Sequence[str], refuse: Refuse) -> None:
        self.app = app
        self.hosts = frozenset(host.lower() for host in hosts)
        self.refuse = refuse

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, or say that this name is not ours."""
        if scope["type"] != "http" or host_name(Headers(scope=scope).get("host", "")) in self.hosts:
            await self.app(scope, receive, send)
            return
        sentence = "This server does not answer under that name. Open it by the name of the site."
        await self.refuse(scope, receive, send, 421, "door.host", sentence)


class OwnOrigin:
    """Lets an act in only from a page of this site."""

    def __init__(self, app: ASGIApp, *, refuse: Refuse) -> None:
        self.app = app
        self.refuse = refuse

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, or say that the act did not come from one of our pages."""
        if scope["type"] != "http" or scope["method"] in SAFE_METHODS or is_own(scope):
            await self.app(scope, receive, send)
            return
        sentence = "This did not come from a page of this site. Nothing was done."
        await self.refuse(scope, receive, send, 403, "door.origin", sentence)


class NothingSignedIsKept:
    """Turns away an act that says it waited on a tablet, unless such an act may wait."""

    def __init__(self, app: ASGIApp, *, refuse: Refuse) -> None:
        self.app = app
        self.refuse = refuse

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, or say that this is never kept on a tablet."""
        if scope["type"] != "http" or scope["method"] in SAFE_METHODS or may_be_kept(scope):
            await self.app(scope, receive, send)
            return
        sentence = "This is never kept on a tablet. Nothing was done. Do it with a link."
        await self.refuse(scope, receive, send, 400, "kept.signature", sentence)


class BodyLimit:
    """Reads a body up to its limit: more for photos, little for everything else."""

    def __init__(self, app: ASGIApp, *, refuse: Refuse) -> None:
        self.app = app
        self.refuse = refuse

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, or say that too much was sent."""
        if scope["type"] != "http" or scope["method"] in SAFE_METHODS:
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        photos = headers.get("content-type", "").startswith("multipart/form-data")
        limit = PHOTOS_LIMIT if photos else BODY_LIMIT
        try:
            body = await read_up_to(limit, receive, headers.get("content-length", "0"))
        except ClientDisconnect:
            return
        if body is None:
            sentence = f"That is more than {megabytes(limit)}, the most that one entry may carry."
            await self.refuse(scope, receive, send, 413, "door.too_large", sentence)
            return
        await self.app(scope, replay(body, receive), send)


def host_name(host: str) -> str:
    """Return a Host header's name without its port, in lower case."""
    if host.startswith("["):
        return host.partition("]")[0].lower() + "]"
    return host.partition(":")[0].lower()


def is_own(scope: Scope) -> bool:
    """Say whether a request comes from a page of ours; one that does not tell is not ours."""
    headers = Headers(scope=scope)
    origin = headers.get("origin")
    if origin is not None:
        return bool(origin) and _authority(origin) == headers.get("host", "").lower()
    return headers.get("sec-fetch-site") == "same-origin"


def may_be_kept(scope: Scope) -> bool:
    """Say whether an act may have waited on a tablet: only an entry and a stop may."""
    kept = any(name.startswith(b"kept-") for name, _ in scope["headers"])
    return not kept or str(scope["path"]).endswith(("/enter", "/stop"))


def _authority(origin: str) -> str:
    """Return the host and port that an Origin names; of what is no address, a name that nobody has."""
    try:
        return urlsplit(origin).netloc.lower()
    except ValueError:
        return "?"


async def read_up_to(limit: int, receive: Receive, announced: str) -> bytes | None:
    """Return the whole body, or None when it is, or says it is, larger than the limit.

    Raises:
        ClientDisconnect: the tablet went away before all of it had come.
    """
    if announced.isascii() and announced.isdecimal() and int(announced) > limit:
        return None
    body = bytearray()
    more = True
    while more:
        message = await receive()
        if message["type"] != "http.request":
            raise ClientDisconnect
        body += message.get("body", b"")
        if len(body) > limit:
            return None
        more = message.get("more_body", False)
    return bytes(body)


def replay(body: bytes, receive: Receive) -> Receive:
    """Return a receive that gives the body once, then what really follows."""
    given = False

    async def again() -> Message:
        nonlocal given
        if given:
            return await receive()
        given = True
        return {"type": "http.request", "body": body, "more_body": False}

    return again


def megabytes(size: int) -> str:
    """Return a size as a person says it."""
    return f"{size / 1024 / 1024:.1f} MB" if size < 1024 * 1024 else f"{size // 1024 // 1024} MB"

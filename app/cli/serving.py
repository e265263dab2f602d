"""Errands that run a server: of a site, of the invented one."""

from __future__ import annotations

import asyncio
import logging
import socket
import threading
from contextlib import AbstractContextManager, suppress
from dataclasses import replace
from typing import TYPE_CHECKING

import uvicorn

from app.cli.told import YES, Trouble, open_site
from app.desk.demo import site as demo
from app.desk.desk import utc_now
from app.desk.trust import NoTrust, Trust, trusted
from app.settings import Settings, data_folder, hosts_from

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable

    from starlette.types import ASGIApp

    from app.desk.desk import Desk

    Web = Callable[[Desk, Settings], ASGIApp]
    Door = Callable[[Trust, Desk, Settings], ASGIApp]

NO_CERTIFICATES = (
    "Without certificates: what is entered is safe, but no page can be read without the link."
)
LEAVE_S = 2  # how long the server waits for answers under way when it is told to end


def serve_site(asked: argparse.Namespace) -> int:
    """Run the server of a site until it is told to end."""
    settings = Settings(
        folder=asked.folder,
        host=asked.host,
        port=asked.port,
        allowed_hosts=hosts_from(asked.names, asked.host),
        plain=asked.plain,
    )
    if settings.secure:
        return _serve_tablets(settings, asked.web, asked.door)
    with _listen(settings) as ear:
        desk = open_site(settings.folder)
        with _ctrl_c_is_the_end():
            print(f"{desk.site.name} is at {settings.address}. End with Ctrl-C.", flush=True)
            if asked.plain:
                print(NO_CERTIFICATES, flush=True)
            _answer(asked.web(desk, settings), ear)
    return YES


def _serve_tablets(settings: Settings, web: Web, door: Door | None) -> int:
    """Run the server under the site's certificate, and beside it the door that gives it out."""
    if not settings.called:
        raise Trouble(
            "Say by which name tablets call this server: --names NAME. Nothing was started."
        )
    beside = replace(settings, port=settings.door)
    with _listen(settings) as ear, _listen(beside) as at_the_door:
        desk = open_site(settings.folder)
        try:
            now = utc_now()
            trust = trusted(settings.folder, desk.site.name, settings.allowed_hosts, now)
        except NoTrust as trouble:
            desk.close()
            raise Trouble(str(trouble)) from None
        with _ctrl_c_is_the_end():
            print(f"{desk.site.name} is at {settings.address}. End with Ctrl-C.", flush=True)
            print(f"Enrol tablets at http://{settings.called}:{settings.door}/enrol", flush=True)
            print(f"Fingerprint to print, SHA-256: {trust.fingerprint}", flush=True)
            if warning := trust.warning(now):
                print(warning, flush=True)
            if door is not None:
                given_out = door(trust, desk, settings)
                threading.Thread(target=_answer, args=(given_out, at_the_door), daemon=True).start()
            _answer(web(desk, settings), ear, trust)
    return YES


def serve_demo(asked: argparse.Namespace) -> int:
    """Make the invented site if it is not there, and run its server."""
    settings = Settings(folder=asked.folder, port=asked.port)
    with _listen(settings) as ear:
        if asked.fresh:
            demo.forget(settings.folder)
        if not demo.stands(settings.folder):
            print("An invented crew works a whole run first, then seals it: some 20 s.", flush=True)
            asyncio.run(demo.make(settings.folder, data_folder("procedures")))
        desk = open_site(settings.folder)
        with _ctrl_c_is_the_end():
            print("\n".join(demo.welcome(settings.address)), flush=True)
            _answer(asked.web(desk, settings), ear)
    return YES


def _ctrl_c_is_the_end() -> AbstractContextManager[None]:
    """Return what lets a server end as it is meant to, also in the moment before it answers."""
    return suppress(KeyboardInterrupt)


def _listen(settings: Settings) -> socket.socket:
    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    try:
        return socket.create_server((settings.host, settings.port), family=family)
    except OSError as trouble:
        where = f"{settings.host}, port {settings.port}"
        raise Trouble(
            f"Nothing was started: {where} cannot be had ({trouble.strerror}). "
            "Another server may be there already. Give another --port."
        ) from trouble


def _answer(application: ASGIApp, ear: socket.socket, trust: Trust | None = None) -> None:
    config = uvicorn.Config(
        application,
        ssl_certfile=None if trust is None else trust.chain,
        ssl_keyfile=None if trust is None else trust.key,
        ssl_keyfile_password=None if trust is None else trust.passphrase,
        log_level="warning",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=LEAVE_S,
    )
    logging.getLogger("uvicorn.error").addFilter(_is_no_farewell)
    uvicorn.Server(config).run(sockets=[ear])


def _is_no_farewell(line: logging.LogRecord) -> bool:
    """Keep out what is said when the server ends while a page waits for news: nothing is lost."""
    return not line.getMessage().endswith("timeout graceful shutdown exceeded")

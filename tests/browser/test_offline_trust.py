"""A browser with the site's authority in its store: the worker is there, and pages can be read without a link."""

from __future__ import annotations

import socket
import subprocess
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import Browser, Error, Playwright, sync_playwright

from app.desk.desk import Desk, utc_now
from app.desk.trust import Trust, trusted
from app.settings import LOOPBACK
from app.web.app import create_app
from tests.browser.crew import FLAGS
from tests.browser.keeping import Keeper
from tests.conftest import needs

NAME = "run.quillmoor.home.arpa"


@pytest.fixture(scope="module")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as driver:
        yield driver


@pytest.fixture
def trust(round_site: Path) -> Trust:
    return trusted(round_site, "Quillmoor Observatory", (*LOOPBACK, NAME), utc_now())


@pytest.fixture
def secure_port(round_desk: Desk, trust: Trust) -> Iterator[int]:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = int(free.getsockname()[1])
    config = uvicorn.Config(
        create_app(round_desk, hosts=(*LOOPBACK, NAME)),
        host="127.0.0.1",
        port=port,
        log_level="critical",
        ssl_certfile=trust.chain,
        ssl_keyfile=trust.key,
        ssl_keyfile_password=trust.passphrase,
        timeout_graceful_shutdown=2,
    )
    running = uvicorn.Server(config)
    thread = threading.Thread(target=running.run, daemon=True)
    thread.start()
    while not running.started:
        time.sleep(0.02)
    yield port
    running.should_exit = True
    thread.join(10)


def chromium_at(playwright: Playwright, home: Path) -> Browser:
    return playwright.chromium.launch(
        executable_path=needs("chromium"),
        args=[*FLAGS, f"--host-resolver-rules=MAP {NAME} 127.0.0.1"],
        env={"HOME": str(home)},
    )


def install(trust: Trust, home: Path) -> None:
    """Put the authority into the store that Chromium reads in this home."""
    certificate = home / "authority.cer"
    certificate.write_bytes(trust.der)
    for place in (".pki/nssdb", ".local/share/pki/nssdb"):
        store = home / place
        store.mkdir(parents=True)
        for act in (
            ["-N", "--empty-password"],
            ["-A", "-t", "C,,", "-n", "site", "-i", str(certificate)],
        ):
            subprocess.run([needs("certutil"), "-d", f"sql:{store}", *act], check=True)


def test_with_the_authority_installed_the_page_is_ready_to_be_used_without_the_link(
    playwright: Playwright, trust: Trust, secure_port: int, tmp_path: Path
) -> None:
    install(trust, tmp_path)
    browser = chromium_at(playwright, tmp_path)
    try:
        context = browser.new_context()
        tablet = Keeper(context, f"https://{NAME}:{secure_port}")
        tablet.sign_on()
        tablet.open()
        tablet.ready()
        assert all(cookie["secure"] for cookie in context.cookies())
        context.set_offline(True)
        tablet.page.reload()
        tablet.link("lost")
        assert tablet.here()["step"] == "wind"
    finally:
        browser.close()


@pytest.mark.usefixtures("trust")
def test_without_it_the_browser_does_not_open_the_site(
    playwright: Playwright, secure_port: int, tmp_path: Path
) -> None:
    browser = chromium_at(playwright, tmp_path)
    try:
        with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
            browser.new_page().goto(f"https://{NAME}:{secure_port}/sign-on")
    finally:
        browser.close()

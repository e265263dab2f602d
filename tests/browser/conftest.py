"""What the tests of a tablet without its link share: a site with a round open, made once, and a browser."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext

from app.desk.desk import Desk
from tests.browser.crew import server
from tests.browser.keeping import Keeper, found


@pytest.fixture(scope="session")
def round_made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of a site with a round open: copy it, never open it."""
    return found(tmp_path_factory.mktemp("round") / "site")


@pytest.fixture
def round_site(round_made: Path, tmp_path: Path) -> Path:
    """Return such a site of one's own."""
    return Path(shutil.copytree(round_made, tmp_path / "round"))


@pytest.fixture
def round_desk(round_site: Path) -> Desk:
    """Return the open desk of that site; the server closes it when it ends."""
    return Desk.open(round_site)


@pytest.fixture
def round_address(round_desk: Desk) -> Iterator[str]:
    """Return where that site's server answers."""
    with server(round_desk) as given:
        yield given


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    """Return a tablet of its own."""
    opened = browser.new_context(viewport={"width": 1180, "height": 820})
    yield opened
    opened.close()


@pytest.fixture
def tablet(context: BrowserContext, round_address: str) -> Keeper:
    """Return a tablet at the next step of the round, ready to be used without its link."""
    keeper = Keeper(context, round_address)
    keeper.sign_on()
    keeper.open()
    keeper.ready()
    return keeper

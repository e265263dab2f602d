"""Takes the README's pictures from real pages of invented sites: `python -m tests.browser.pictures`."""

from __future__ import annotations

import asyncio
import subprocess
import sys
import tempfile
import time
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import httpx
from playwright.sync_api import sync_playwright

from app.desk.demo import site as demo
from app.desk.demo.shift import Clock
from app.desk.demo.story import COUNT, half_a_day
from app.desk.desk import Desk, utc_now
from app.settings import data_folder
from tests.cli.test_demo import free_port
from tests.conftest import needs

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser

PICTURES = data_folder("static") / "readme"
ROOM = {"width": 1180, "height": 820}


async def stand_at(folder: Path, step: str) -> None:
    """Found a site whose only run stands in the middle of a step."""
    clock = Clock(utc_now() - timedelta(minutes=50))
    demo.found(folder, data_folder("procedures"), clock)
    desk = Desk.open(folder, clock=clock)
    try:
        shift = await half_a_day(desk, clock, until=step)
        if step == COUNT:
            for person in ("JB", "AN"):
                await shift.alone(step, person)
        else:
            for number in range(1, 14):
                await shift.enter(step, "SH", f"B{number:02d}")
    finally:
        desk.close()


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """Serve a site; give its address."""
    port = free_port()
    command = [sys.executable, "-m", "app", "serve", "--folder", str(folder), "--port", str(port)]
    with subprocess.Popen(command, stdout=subprocess.DEVNULL) as server:
        address = f"http://127.0.0.1:{port}"
        try:
            while not _answers(address):
                if server.poll() is not None:
                    raise RuntimeError(f"the server of {folder} ended with {server.returncode}")
                time.sleep(0.2)
            yield address
        finally:
            server.terminate()


def _answers(address: str) -> bool:
    try:
        return httpx.get(f"{address}/sign-on").status_code == httpx.codes.OK
    except httpx.TransportError:
        return False


def take(browser: Browser, name: str, person: str, address: str) -> None:
    """Sign a person on, open a page, take its picture."""
    page = browser.new_page(viewport=ROOM)  # type: ignore[arg-type]
    page.goto(address)
    if person:
        page.locator("select[name=person]").first.select_option(person)
        page.locator("input[name=secret]").first.fill(f"{person.lower()}-quillmoor")
        page.get_by_role("button", name="Sign on").first.click()
        page.wait_for_url(address)
    page.wait_for_timeout(6000)  # until the page has heard from the server that the link is up
    page.screenshot(path=PICTURES / f"{name}.png")
    page.close()


def main() -> None:
    """Take every picture."""
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as kept:
        ring, count, whole = (Path(kept) / name for name in ("ring", "count", "whole"))
        asyncio.run(stand_at(ring, "brackets-off"))
        asyncio.run(stand_at(count, COUNT))
        asyncio.run(demo.make(whole, data_folder("procedures")))
        take_all(ring, count, whole)
        print_first_page(whole / "records/R-0001.pdf", PICTURES / "record.png")


def take_all(ring: Path, count: Path, whole: Path) -> None:
    """Take the pictures of the pages."""
    with sync_playwright() as playwright:
        chromium = needs("chromium")
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        with served(ring) as at:
            take(browser, "run", "SH", f"{at}/runs/R-0001")
        with served(count) as at:
            take(browser, "count", "ET", f"{at}/runs/R-0001")
        with served(whole) as at:
            take(browser, "hold", "TW", f"{at}/runs/R-0002/steps/released/countersign")
            httpx.post(f"{at}/runs/R-0002/stop", headers={"Origin": at})
            take(browser, "stop", "", f"{at}/runs/R-0002/stopped")
        browser.close()


def print_first_page(pdf: Path, picture: Path) -> None:
    """Draw the first page of a record."""
    draw = [needs("pdftoppm"), "-r", "100", "-png", "-f", "1", "-l", "1", "-singlefile"]
    subprocess.run([*draw, str(pdf), str(picture.with_suffix(""))], check=True)


if __name__ == "__main__":
    main()
